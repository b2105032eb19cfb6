"""
The kernel where a warp steps a column, a lane a row.

`solve` is its own, `compiled` that of `gpu.kernel`, the other files are `history.kernel`'s.
"""

# mypy: disable-error-code="attr-defined"

from importlib import resources

from numba import config

_HERE = "voidless.physics.heat.history"

__path__ = [*__path__, str(resources.files(f"{_HERE}.gpu.kernel")), str(resources.files(f"{_HERE}.kernel"))]

TEAM = 1 if config.ENABLE_CUDASIM else 32
"""Threads that step a column together; the simulator has no warps."""
