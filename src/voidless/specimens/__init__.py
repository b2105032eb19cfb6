"""
Geometry of test pieces, their sections for reduction, and their solids.

order.py       how many specimens of which kind a run prints
standards.py   dimensions of the standards' tensile bars, as data
outline.py     plane outlines: rectangle, circle, tensile bar
stack.py       a body as outlines by height
kind.py        what a kind of specimen is: bodies, holes, orientation, gauge, features, places for marks
kinds/         the kinds by what they are for
catalogue.py   the kinds that can be printed, and which kinds serve which responses
codes.py       how blind codes look
marking.py     a number raised or sunk on a specimen
mesh.py        a kind as a closed triangle mesh, and as the bytes of an STL or 3MF file
"""
