"""
The one door to numba: compiled functions are kept on disk wherever this user may write.

numba keeps them beside the source or in the home of the user, and refuses to start where it may write in neither. Then
they are kept among temporary files, in a folder that belongs to this user alone: what is kept there is code that will
be run.
"""

from __future__ import annotations

import atexit
import os
import shutil
import stat
import tempfile
from pathlib import Path

import numba
from numba import njit

from voidless.errors import InputError

__all__ = ["njit", "place_for_compiled"]


def _probe() -> int:
    return 0


def _own_folder(temporary: Path) -> Path:
    """Return a folder of this user alone: the same for all processes, or a new one where that name is taken."""
    user = (
        os.getuid() if hasattr(os, "getuid") else None
    )  # Windows gives each user temporary files of their own
    folder = temporary / f"voidless-compiled-{'user' if user is None else user}"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        state = folder.lstat()
    except OSError:
        state = None
    if (
        state
        and stat.S_ISDIR(state.st_mode)
        and (user is None or (state.st_uid, state.st_mode & 0o077) == (user, 0))
    ):
        return folder
    folder = Path(tempfile.mkdtemp(prefix="voidless-compiled-", dir=temporary))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def place_for_compiled() -> None:
    """
    Choose where compiled functions are kept; numba's setting `CACHE_DIR` changes only where it finds no place itself.

    Raises
    ------
    InputError
        Temporary files cannot be written either.
    """
    try:
        numba.njit(cache=True)(_probe)
    except RuntimeError:
        try:
            place = _own_folder(Path(tempfile.gettempdir()))
        except OSError as fault:
            raise InputError(
                "compiled functions",
                f"can be kept nowhere ({fault.strerror})",
                "a home or a folder for temporary files that can be written",
                "Name one: TMPDIR (TEMP on Windows), or NUMBA_CACHE_DIR.",
            ) from fault
        vars(numba.config)["CACHE_DIR"] = str(place)


place_for_compiled()
