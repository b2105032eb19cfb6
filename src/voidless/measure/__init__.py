"""
Raw files of a bench to results with their uncertainty: pure functions on bytes, no store and no clock.

    results.py   the values that come out: RawFile, Answers, BuildFacts, FileResult
    take.py      take_files: several files together, each with its own status
    files/       what a file is; text, archives, spreadsheets, photos, labels in names
    tables/      result tables, one row a value
    curves/      machine curves: dialects, units, sections
    tensile/     curves to strengths; summaries that came with them
    weighing/    weighings to density and void share
"""
