"""The members of a 3MF file: a ZIP package, opened within limits."""

from __future__ import annotations

import io
import posixpath
import zipfile

from voidless.errors import InputError
from voidless.meshes.limits import MAX_UNPACKED_BYTES, check_bytes
from voidless.zipped import FAULTS, MAX_RATIO, is_encrypted, swells

__all__ = ["Package"]


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
        except FAULTS as fault:
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
        if is_encrypted(item):
            raise InputError(self._name, "the package is encrypted", "a plain 3MF file", "Export it again.")
        if item.file_size > MAX_UNPACKED_BYTES or swells(item.compress_size, item.file_size):
            raise InputError(
                self._name,
                f"{member} unpacks from {item.compress_size / 1024**2:.3g} to {item.file_size / 1024**2:.3g} MB",
                f"at most {MAX_UNPACKED_BYTES // 1024**2} MB and {MAX_RATIO} times the packed size",
                "Export a coarser mesh.",
            )
        try:
            return self._archive.read(item)  # never more than the head states, which was checked
        except FAULTS as fault:
            raise self._damaged() from fault
