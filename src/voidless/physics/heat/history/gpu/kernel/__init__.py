"""What a graphics processor does in its own way, whoever steps a column; loaded by `gpu.lane` and `gpu.warp`."""

from importlib import resources

TEAM = 1
"""Threads that step a column together; the packages that load these files have their own."""

FOLDERS = [str(resources.files(f"voidless.physics.heat.history.{name}")) for name in ("gpu.kernel", "kernel")]
"""Where those packages look for the files of the kernel that they do not have: first here, then `history.kernel`."""
