"""
The kinds of specimen by what they are for.

tensile.py     bars of ISO 527-2 and ASTM D638, flat, on edge and upright; straight bars
upright.py     square and round bars pulled through the layers, a wall of single beads
bending.py     bars 80 x 10 x 4 of ISO 178, ISO 179-1 and ISO 180
optics.py      plaques, stepped wedge, light guide
tightness.py   cup, lid and walls for pressure
shape.py       blocks for density and size; overhangs, holes and a bridge
"""
