"""
The kernel for a graphics processor: a warp steps a column, each of its threads at another setting.

`compiled` is its own, the other files are `history.kernel`'s.
"""

# mypy: disable-error-code="attr-defined"

from importlib import resources

from numba import config

__path__ = [*__path__, str(resources.files("voidless.physics.heat.history.kernel"))]

WIDTH = 1 if config.ENABLE_CUDASIM else 32
"""Settings side by side; the simulator has no warps."""
