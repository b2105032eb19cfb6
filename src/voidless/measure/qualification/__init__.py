"""
Short prints and readings that say what a machine really does when a setting is commanded.

    realised.py   a setting as commanded to the setting as it really was, with its error
    feed.py       filament diameter and true mass flow over the volumetric rate
    fan.py        duty to air, and the duty below which the fan stands still
    gap.py        first-layer gap and tilt of the bed
    lag.py        pressure lag from bead widths after a change of speed
"""
