"""
The full twin: the welds of a real toolpath, place by place.

    laying.py   moves -> beads with melt temperature, air and contact of each
    room.py     beads -> the share of its room that each fills
    fields.py   beads -> healing and strength share of every bead's welds
    summary.py  the same per layer and for the whole part
"""
