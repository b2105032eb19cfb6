"""
Machine curves: exports of tensile machines and home-built rigs in any dialect.

    words.py     what channels and header facts are called, in the languages that machines speak
    blocks.py    where rows of numbers stand in a text
    header.py    names, units and facts above a block
    numbers.py   a block of text to columns of numbers
    beside.py    which columns belong to which of several specimens side by side
    units.py     units stated, answered or proven, and what must be asked
    read.py      read_curves: a file to its curves
"""
