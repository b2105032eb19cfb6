"""What a graphics processor does in its own way, whoever steps a column; loaded by `gpu.lane` and `gpu.warp`."""

TEAM = 1
"""Threads that step a column together; the packages that load these files have their own."""
