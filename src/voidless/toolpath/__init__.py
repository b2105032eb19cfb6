"""
Moves of a machine: planned, timed, written, read.

moves.py     kinds of move, moves as arrays, a planned toolpath
region.py    a section as a region: inset by contours, cut into columns for the raster
pattern.py   one section as contours and raster whose volumes fill it exactly
layout.py    where specimens stand on the bed
build.py     specimens and settings -> toolpath
motion.py    time of moves under limits of speed and acceleration
estimate.py  build time of many settings at once, without planning
limits.py    what in a list of moves exceeds a machine
writer.py    toolpath -> G-code
words.py     one line of G-code as words
arcs.py      arcs as chords
reader.py    G-code of any common dialect -> moves
part.py      what a file holds: filament, path, layers, box, time
drawing.py   layers as plain line segments for pictures
cautions.py  what a person must know before starting a build
"""
