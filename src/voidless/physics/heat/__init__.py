"""
Temperature of beads, layers and the built body, in closed form.

    contact.py  two bodies brought together
    layer.py    one hot layer on a half-space
    fin.py      a bead that cools as a moving fin, lumped layer and wall
    source.py   moving point and line source
    column.py   a column that grows on a bed: steady temperature of its top
"""
