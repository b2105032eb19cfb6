"""
How chains knit across an interface, and how contact grows without pressure.

    shift.py    time-temperature shift (WLF)
    healing.py  degree of healing from a temperature history
    neck.py     neck growth by surface tension: a lower bound of contact
"""
