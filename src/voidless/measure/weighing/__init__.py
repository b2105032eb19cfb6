"""
Weighings in air and in water to density and void share.

    columns.py   which columns there are
    density.py   water, air, buoyancy and their uncertainty
    read.py      read_weighings: a table to observations
"""
