"""
Solid fill of a region by beads.

types.py    how a region is filled, and the moves that fill it
plan.py     region -> contours and raster (`plan_region`)
"""
