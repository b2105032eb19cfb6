"""
Size of the part, coarse: a rule of volume and expansion, not a simulation of form.

    size.py  outward growth by volume without room, shrinkage, sag of a hot section
"""
