"""
What a campaign is.

    types.py     frozen values that everyone shares
    space.py     the box of factors, in shop units and as the unit cube
    exposure.py  where a spool was since it was dried
    file.py      read_campaign, parse_campaign, load_ground
    tables.py    the tables of the campaign file, one function each
    limits.py    factor box and fixed settings against machine, material and limits
    faults.py    all faults of a file, raised as one error
"""
