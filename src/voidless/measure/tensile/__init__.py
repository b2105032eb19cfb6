"""
Tensile curves to strengths, modulus and energy, and the summaries that came with them.

    blocks.py      text blocks of trials with a maximum force each
    summary.py     sessions of a summary, and its curves joined to it
    strength.py    maximum, and first maximum by ISO 527-1:2012
    modulus.py     chord, regression, toe and machine compliance
    reduce.py      reduce_tensile: one curve, all of it
"""
