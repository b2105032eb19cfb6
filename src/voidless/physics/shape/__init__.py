"""
Size and shape of the part, coarse: rules of volume, expansion and sag, not a simulation of form.

    size.py  outward growth by volume without room, shrinkage, sag of a hot section
    span.py  sag of bridges, rounding of edges, steepest overhang
"""
