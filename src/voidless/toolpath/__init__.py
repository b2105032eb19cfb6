"""
Moves of a machine: planned, timed, written, read.

moves.py     kinds of move, moves as arrays, a planned toolpath
region.py    a section as a region: rings, inset, edges in a turned frame, raster lines
fill/        one section as contours and raster whose volumes fill it exactly
layout.py    where specimens stand on the bed
build.py     specimens and settings -> toolpath
motion.py    time and speeds of moves, with look-ahead: arrays (motion_arrays.py) or compiled (motion_kernel.py)
lag.py       what really leaves the nozzle; lag_pieces.py: along a bead; lag_print.py, lag_reading.py: its test print
lag_feed.py  feeds ahead of it
estimate.py  build time of many settings at once, without planning: closed form (estimate_layer.py) and planned layers
limits.py    what a list of moves asks beside what a machine allows
listing.py   every limit with what a written build asks of it
layer_time.py  layer times of what stands on a bed, held over gauges by pauses
stretches.py moves of one specimen cut out of plans and joined anew
sharing.py   specimens one after the other, several runs on one bed
writer.py    toolpath -> G-code
words.py     one line of G-code as words; dialect.py, dialect_moves.py: what they do to a state (scan_state.py)
arcs.py      arcs as chords
scan.py      bytes -> columns of moves (scan_columns.py), by words or compiled (scan_ahead.py): one thread splits lines
             (scan_words.py) ahead of the one that carries them out (scan_kernel.py)
reader.py    G-code of any common dialect -> moves, at once or as a stream
part.py      what a file holds: filament, path, layers, box, time
heights.py   how high layers stand; turns.py: turns of a path that rises all the way, as layers
view.py      beads as plain columns for pictures
cautions.py  what a person must know before starting a build
"""
