"""
Weighings to density and void share.

    columns.py   names of columns
    density.py   density of water, air and a weighed piece
    budget.py    uncertainty of density and void share, by formula and by drawing
    pieces.py    rows as pieces and reference pieces
    reduce.py    one piece to results, open pores and findings named
    read.py      a table to results
"""
