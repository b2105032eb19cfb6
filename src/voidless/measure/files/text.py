"""Bytes to text: encodings that machines and spreadsheets write, and signs that a file is no text."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from voidless.errors import InputError
from voidless.measure.files.foreign import JAPANESE
from voidless.measure.files.limits import MAX_LINE_CHARS, check_size

__all__ = ["Text", "decode", "looks_binary"]

_CONTROLS = bytes(code for code in range(32) if code not in b"\t\n\r\x0c\x1a\x1b")
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_JAPANESE_CODEC = "cp932"
_CODECS = (("utf-8", "UTF-8"), (_JAPANESE_CODEC, "Shift JIS"), ("cp1252", "Windows-1252"))
_BINARY_SHARE = 0.001


@dataclass(frozen=True)
class Text:
    """
    A text file.

    Attributes
    ----------
    name : str
        Name of the file.
    text : str
        Its content, every line end a newline.
    encoding : str
        How it was decoded.
    warnings : tuple of str
        Said where the encoding was not certain.
    """

    name: str
    text: str
    encoding: str
    warnings: tuple[str, ...] = ()

    @property
    def lines(self) -> list[str]:
        """Lines without their ends."""
        return self.text.split("\n")


def looks_binary(data: bytes) -> bool:
    """
    Return whether bytes are no text of a single-byte encoding or UTF-8.

    Parameters
    ----------
    data : bytes
        Content of a file; the first megabyte decides.

    Returns
    -------
    binary : bool
        True where a NUL or more than one control character in a thousand bytes is found.
    """
    head = data[: 1024**2]
    if data[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
        return False
    controls = len(head) - len(head.translate(None, delete=_CONTROLS))
    return b"\x00" in data or controls > _BINARY_SHARE * len(head)


def _decoded(name: str, data: bytes) -> tuple[str, str]:
    for mark, codec, words in _MARKS:
        if data.startswith(mark):
            try:
                return data.decode(codec), words
            except UnicodeDecodeError as fault:
                raise InputError(
                    name,
                    f"the file begins as {words} but byte {fault.start} is not",
                    words,
                    "Export it again as UTF-8.",
                ) from fault
    for codec, words in _CODECS:
        try:
            text = data.decode(codec)
        except UnicodeDecodeError:
            continue
        # Bytes of Western letters often are Japanese ones too: words decide.
        if codec != _JAPANESE_CODEC or any(word in text for word in JAPANESE):
            return text, words
    return data.decode("latin-1"), "Latin-1"


def decode(name: str, data: bytes) -> Text:
    """
    Return the text of a file.

    Parameters
    ----------
    name : str
        Name of the file, for errors.
    data : bytes
        Its content.

    Returns
    -------
    text : Text
        Decoded by its byte-order mark, else as UTF-8, else as Shift JIS where that shows Japanese trade words, as
        Windows-1252 or Latin-1, with a warning.

    Raises
    ------
    InputError
        The file is empty, too large, binary, or has an absurdly long line.
    """
    check_size(name, len(data))
    if looks_binary(data):
        raise InputError(
            name,
            "the file holds bytes that are no text (binary, damaged, or UTF-16 without its mark)",
            "a text file",
            "Export it again as text in UTF-8.",
        )
    text, encoding = _decoded(name, data)
    if "\x00" in text:
        raise InputError(name, "the text holds NUL characters", "a text file", "Export it again as UTF-8.")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    _check_lines(name, text)
    warnings = () if encoding.startswith("UTF") else (f"{name}: not UTF-8; read as {encoding}",)
    return Text(name, text, encoding, warnings)


def _check_lines(name: str, text: str) -> None:
    start, number = 0, 1
    while len(text) - start > MAX_LINE_CHARS:
        end = text.rfind("\n", start, start + MAX_LINE_CHARS)
        if end < 0:
            raise InputError(
                name,
                f"a line near line {number} has over {MAX_LINE_CHARS} characters",
                "one row a line",
                "Check that the file is a table with line ends.",
            )
        number += text.count("\n", start, end + 1)
        start = end + 1
