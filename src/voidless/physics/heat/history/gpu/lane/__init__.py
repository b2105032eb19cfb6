"""The kernel where a thread steps a column: `compiled` is that of `gpu.kernel`, other files `history.kernel`'s."""

from voidless.physics.heat.history.gpu.kernel import FOLDERS

__path__ = [*__path__, *FOLDERS]

TEAM = 1
"""Threads that step a column together."""
