"""The members of a 3MF file: a ZIP package, opened within limits."""

from __future__ import annotations

import io
import posixpath
import struct
import zipfile
import zlib

from voidless.errors import InputError
from voidless.meshes.limits import MAX_RATIO, MAX_UNPACKED_BYTES, check_bytes

__all__ = ["Package"]

_FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    OSError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    IndexError,
    KeyError,
    OverflowError,
)
_RATIO_FLOOR = 1024**2
"""Below this many bytes no ratio is too large. [B]"""


class Package:
    """
    A ZIP package in memory.

    Parameters
    ----------
    data : bytes
        Content of the file.
    name : str
        Its name, for faults.

    Raises
    ------
    InputError
        The file is empty, too large, damaged or no ZIP package.
    """

    def __init__(self, data: bytes, name: str) -> None:
        check_bytes(name, len(data))
        self._name = name
        try:
            self._archive = zipfile.ZipFile(io.BytesIO(data))
            self._members = {item.filename.lstrip("/"): item for item in self._archive.infolist()}
        except _FAULTS as fault:
            raise self._damaged() from fault

    def _damaged(self) -> InputError:
        return InputError(
            self._name, "the package is damaged or cut short", "a whole 3MF file", "Export or copy it again."
        )

    def __contains__(self, member: str) -> bool:
        return posixpath.normpath(member.lstrip("/")) in self._members

    def read(self, member: str) -> bytes:
        """
        Return a member's bytes.

        Raises
        ------
        InputError
            It is not there, encrypted, damaged, or unpacks to more than the limits allow.
        """
        item = self._members.get(posixpath.normpath(member.lstrip("/")))
        if item is None:
            raise InputError(
                self._name, f"the package lacks {member}", "a whole 3MF file", "Export it again."
            )
        if item.flag_bits & 0x1:
            raise InputError(self._name, "the package is encrypted", "a plain 3MF file", "Export it again.")
        most = MAX_UNPACKED_BYTES
        if item.file_size > _RATIO_FLOOR:
            most = min(most, int(MAX_RATIO * max(item.compress_size, 1)))
        if item.file_size > most:
            raise InputError(
                self._name,
                f"{member} unpacks to more than {most / 1024**2:.0f} MB",
                f"at most {MAX_UNPACKED_BYTES // 1024**2} MB and {MAX_RATIO:g} times the packed size",
                "Export a coarser mesh.",
            )
        try:
            return self._archive.read(item)  # never more than the head states, which was checked
        except _FAULTS as fault:
            raise self._damaged() from fault
