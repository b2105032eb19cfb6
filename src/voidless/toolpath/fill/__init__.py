"""
Solid fill of a region by beads.

types.py        how a region is filled, and the moves that fill it
plan.py         region -> contours and raster (`plan_region`)
contours.py     closed beads whose width follows the room about them
ring.py         the room about a closed line (ring_kernel.py: rays, compiled)
raster.py       even parallel beads, joined by turns
edge.py         strokes that close the outline where no contour is
beside.py       outlines that run along the beads
route.py        the way along beads and strokes
spine.py        one bead for a wall one bead thick
volume.py       paths -> beads that fill the region
sweep.py        what each bead finds free (sweep_kernel.py: compiled)
narrow.py       no bead narrower than allowed
spots.py        short ways aside to what paths leave open
"""
