"""`advance` compiled for the CPU and kept on disk under the text of the whole kernel."""

# mypy: disable-error-code="untyped-decorator, no-any-return, call-overload, assignment"

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources
from typing import Any

from voidless.compiling import njit
from voidless.physics.heat.history.kernel.advance import advance

__all__ = ["compiled_advance"]


def _text() -> str:
    """Return a digest of the kernel's source: a kept function must not outlive a change in another file."""
    digest = hashlib.sha256()
    folder = resources.files("voidless.physics.heat.history")
    for file in sorted(
        [*folder.joinpath("kernel").iterdir(), folder.joinpath("state.py")], key=lambda f: f.name
    ):
        if file.name.endswith(".py"):
            digest.update(file.read_bytes())
    return digest.hexdigest()


def _kept(text: str) -> Any:
    @njit(cache=True, nogil=True, error_model="numpy", _nrt=False, no_cfunc_wrapper=True)
    def run(first: int, stop: int, facts: Any, state: Any, work: Any) -> int:
        advance(first, stop, facts, state, work)
        return len(text)  # the closure is part of the key under which numba keeps the function

    return run


@cache
def compiled_advance() -> Any:
    """Return a function that runs ticks: first tick, tick after the last, facts, state, scratch."""
    return _kept(_text())
