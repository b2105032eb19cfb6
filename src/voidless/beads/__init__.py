"""
Pure geometry of beads, below physics and toolpath.

stadium.py    a bead as a rounded rectangle: area, width, full-fill pitch, void share, filament feed
"""
