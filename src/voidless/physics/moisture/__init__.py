"""
Water in the filament and what it does in the hot end.

    sorption.py  uptake from air and drying of a round filament
    spool.py     changing places, warm-air dryers, inner windings
    steam.py     saturation pressure of water
    bubbles.py   upper bound by flashing and the driving pressure of a bubble; hydrolysis
"""
