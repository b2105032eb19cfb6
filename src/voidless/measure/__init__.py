"""
Raw files of a bench to results with their uncertainty: pure functions on bytes, no store and no clock.

    results.py   the values that come out: RawFile, Answers, BuildFacts, FileResult
    take.py      take_files: several files together, each with its own status
    folders.py   what the files of a folder say of each other
    readers.py   one table of every kind of table: how it is known, what reads it
    picture.py   how a result was reduced, for a figure
    series/      noise, trend and peak of readings in a row
    files/       what a file is; text, archives, spreadsheets, photos, labels in names
    tables/      result tables, one row a value
    curves/      machine curves: dialects, units, sections
    tensile/     curves to strengths; summaries that came with them
    flexure/     bending curves to strength and modulus
    impact/      blows of a pendulum to impact strength
    tightness/   pressure and bubbles to leak rates
    size/        calliper readings, warp, true flow
    surface/     roughness from profiles
    quality/     precision, gauge share, outliers, rounding, checks of instruments
    qualification/  commanded settings to realised ones
    weighing/    weighings to density and void share
"""
