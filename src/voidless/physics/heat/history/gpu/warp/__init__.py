"""
The kernel where a warp steps a column, a lane a row.

`solve` is its own, `compiled` that of `gpu.kernel`, the other files are `history.kernel`'s.
"""

# mypy: disable-error-code="attr-defined"

from numba import config

from voidless.physics.heat.history.gpu.kernel import FOLDERS

__path__ = [*__path__, *FOLDERS]

TEAM = 1 if config.ENABLE_CUDASIM else 32
"""Threads that step a column together; the simulator has no warps."""
