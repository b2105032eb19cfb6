"""The kernel where a thread steps a column: `compiled` is that of `gpu.kernel`, other files `history.kernel`'s."""

from importlib import resources

_HERE = "voidless.physics.heat.history"

__path__ = [*__path__, str(resources.files(f"{_HERE}.gpu.kernel")), str(resources.files(f"{_HERE}.kernel"))]

TEAM = 1
"""Threads that step a column together."""
