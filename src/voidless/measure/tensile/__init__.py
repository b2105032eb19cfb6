"""
Tensile curves to strengths, yield, modulus and energy, and the summaries that came with them.

    blocks.py      text blocks of trials with a maximum force each
    summary.py     sessions of a summary
    session.py     a summary beside the curves of its folder
    events.py      slip, first crack, yield, break
    strength.py    maximum, and first maximum by ISO 527-1:2012
    modulus.py     chord, regression, toe
    stiffness.py   modulus of one curve, and how sure it is
    strain.py      what strain is, nominal strain
    compliance.py  give of machine and grips
    lengths.py     modulus and give by specimens of several lengths
    sections.py    cross-section from readings
    bench.py       what is known of the bench
    flags.py       what is odd about a record
    reduce.py      reduce_tensile: one curve, all of it
    explain.py     picture of the reduction
    folder.py      what other files of a folder say of its curves
    join.py        a curve with direction, section and labels to results
"""
