"""What a graphics processor does in its own way, whoever steps a column."""

TEAM = 32
"""Threads that step a column together; where the kernel is loaded anew, its package holds the number in use."""
