"""Text blocks of `key: value` lines with a maximum force per trial, as rigs print them."""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["TextBlock", "is_summary", "read_blocks"]

_TITLE = re.compile(r"^\s*([=\-#*])\1{1,}\s*([^=\-#*\n][^\n]*?)\s*\1{2,}\s*$", re.MULTILINE)
_TRIAL = re.compile(r"^\s*(?:trial|specimen)\s*#?\s*(\d+)\s*:", re.IGNORECASE | re.MULTILINE)
_PAIR = re.compile(r"^\s*([^:\n]{1,100}?)\s*:\s*(.*?)\s*$")


@dataclass(frozen=True)
class TextBlock:
    """
    One titled block.

    Attributes
    ----------
    title : str
        Its title.
    line : int
        Line number of the title. [1]
    pairs : tuple of (str, str)
        Keys in lower case and values as written.
    """

    title: str
    line: int
    pairs: tuple[tuple[str, str], ...]

    def value(self, *words: str) -> str:
        """Return the value of the first key that begins with one of the words, or an empty text."""
        return next((value for key, value in self.pairs if key.startswith(words)), "")


def is_summary(text: str) -> bool:
    """
    Return whether a text holds titled blocks of trials.

    Parameters
    ----------
    text : str
        Beginning of a file.

    Returns
    -------
    summary : bool
        True where a title line and a trial line are found.
    """
    return bool(_TITLE.search(text)) and bool(_TRIAL.search(text))


def read_blocks(text: str) -> tuple[TextBlock, ...]:
    """
    Return the titled blocks of a text.

    Parameters
    ----------
    text : str
        A whole file.

    Returns
    -------
    blocks : tuple of TextBlock
        In the order of the file; lines that are no `key: value` are passed over.
    """
    titles = list(_TITLE.finditer(text))
    if not titles:
        return ()
    ends = [title.start() for title in titles[1:]] + [len(text)]
    found = []
    for title, end in zip(titles, ends, strict=True):
        matches = (_PAIR.match(line) for line in text[title.end() : end].split("\n"))
        pairs = tuple((match[1].lower(), match[2]) for match in matches if match)
        found.append(TextBlock(title[2], text.count("\n", 0, title.start(2)) + 1, pairs))
    return tuple(found)
