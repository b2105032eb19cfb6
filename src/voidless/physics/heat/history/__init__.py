"""
Temperature history of every weld of a path, by conduction in the built body.

    types.py    polymer, surroundings, method
    lattice.py  a grid that follows the raster
    raster.py   which cell each bead covers, and when
    grid.py     beads -> columns, blocks, welds
    state.py    what a run holds, as plain tuples of arrays
    kernel/     the steps
    run.py      beads -> healing of every weld

Method and measured errors: docs/methods/heat.md.
"""
