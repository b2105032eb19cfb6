"""
Geometry of test pieces, their sections for reduction, and their solids.

order.py       how many specimens of which kind a run prints
standards.py   dimensions of the standards' tensile bars, as data
outline.py     plane outlines: rectangle, tensile bar
kind.py        what a kind of specimen is: outlines by height, orientation, gauge, features
catalogue.py   the kinds that can be printed, and which kinds serve which responses
mesh.py        a kind as a closed triangle mesh, and as the bytes of an STL or 3MF file
"""
