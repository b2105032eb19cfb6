"""Members of a zip archive, within limits and one archive deep inside another."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass

from voidless.errors import InputError
from voidless.measure.files.limits import MAX_MEMBERS, MAX_UNPACKED_BYTES, check_size
from voidless.measure.results import RawFile
from voidless.zipped import FAULTS, MAX_RATIO, is_encrypted, swells

__all__ = ["is_zip", "member_names", "unpack"]

_DEPTH = 2


def is_zip(data: bytes) -> bool:
    """
    Return whether bytes begin as a zip archive.

    Parameters
    ----------
    data : bytes
        Content of a file.

    Returns
    -------
    zipped : bool
        True by the mark of a first member or of an empty archive.
    """
    return data[:4] in (b"PK\x03\x04", b"PK\x05\x06")


def _opened(name: str, data: bytes) -> zipfile.ZipFile:
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        if not all(info.filename for info in archive.infolist()):
            raise zipfile.BadZipFile("a member without a name")
    except FAULTS as fault:
        raise InputError(
            name, "the archive is truncated or damaged", "a whole zip archive", "Copy or pack it again."
        ) from fault
    return archive


def member_names(name: str, data: bytes) -> tuple[str, ...]:
    """
    Return the names inside a zip archive.

    Parameters
    ----------
    name : str
        Name of the archive, for errors.
    data : bytes
        Its content.

    Returns
    -------
    names : tuple of str
        Names of all members, folders included.

    Raises
    ------
    InputError
        The archive is damaged.
    """
    with _opened(name, data) as archive:
        return tuple(archive.namelist())


@dataclass
class _Budget:
    """Bytes and members that may still be unpacked."""

    unpacked: int
    members: int


def unpack(name: str, data: bytes) -> tuple[RawFile, ...]:
    """
    Return the files inside a zip archive, archives inside it unpacked as well.

    Parameters
    ----------
    name : str
        Name of the archive; members are named after it and their own name.
    data : bytes
        Its content.

    Returns
    -------
    members : tuple of RawFile
        In the order of the archive, without folders and system files.

    Raises
    ------
    InputError
        The archive is damaged, encrypted, empty, nested too deep, or unpacks to more than the limits.
    """
    members = _members(name, data, _Budget(MAX_UNPACKED_BYTES, MAX_MEMBERS), 1)
    if not members:
        raise InputError(name, "the archive holds no file", "at least one file", "Pack it again.")
    return tuple(members)


def _members(name: str, data: bytes, budget: _Budget, depth: int) -> list[RawFile]:
    check_size(name, len(data))
    found: list[RawFile] = []
    with _opened(name, data) as archive:
        for info in archive.infolist():
            if info.is_dir() or _is_system(info.filename):
                continue
            member = f"{name}/{info.filename}"
            content = _content(archive, info, member, budget)
            if is_zip(content) and not _is_document(member, content):
                if depth >= _DEPTH:
                    raise InputError(
                        member,
                        "an archive inside an archive inside an archive",
                        "at most two deep",
                        "Unpack it first.",
                    )
                found += _members(member, content, budget, depth + 1)
            else:
                found.append(RawFile(member, content))
    return found


def _is_system(filename: str) -> bool:
    last = filename.replace("\\", "/").split("/")[-1]
    return filename.startswith("__MACOSX/") or last in {".DS_Store", "Thumbs.db", "desktop.ini"}


def _is_document(name: str, data: bytes) -> bool:
    """Return whether a zip is itself a document (a spreadsheet) and not a parcel of files."""
    return "[Content_Types].xml" in member_names(name, data)


def _content(archive: zipfile.ZipFile, info: zipfile.ZipInfo, member: str, budget: _Budget) -> bytes:
    budget.members -= 1
    if budget.members < 0:
        raise InputError(
            member, f"the archive has over {MAX_MEMBERS} members", f"at most {MAX_MEMBERS}", "Split it."
        )
    if is_encrypted(info):
        raise InputError(member, "the archive is encrypted", "an open archive", "Unpack it first.")
    try:
        with archive.open(info) as stream:
            content = stream.read(budget.unpacked + 1)
    except FAULTS as fault:
        raise InputError(
            member,
            "the archive is truncated or damaged here",
            "a whole zip archive",
            "Copy or pack it again.",
        ) from fault
    budget.unpacked -= len(content)
    if budget.unpacked < 0 or swells(info.compress_size, len(content)):
        raise InputError(
            member,
            "unpacks to far more than a measurement would",
            f"at most {MAX_RATIO} times its packed size and {MAX_UNPACKED_BYTES // 1024**2} MB in all",
            "Check where the archive came from; unpack it yourself if it is sound.",
        )
    return content
