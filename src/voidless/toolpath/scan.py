"""Bytes of G-code -> columns of moves, block by block: compiled where a file is worth it, else by words."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from functools import partial
from io import BytesIO, RawIOBase

from voidless.errors import InputError
from voidless.toolpath import scan_state as at
from voidless.toolpath.dialect import obey
from voidless.toolpath.scan_columns import Columns
from voidless.toolpath.scan_state import LONGEST_LINE, Reading

__all__ = ["BLOCK_BYTES", "WORTH_COMPILING", "Block", "Step", "blocks", "last_end", "obey_line", "steps"]

BLOCK_BYTES = 2 * LONGEST_LINE
KEPT_BLOCKS = 4
WORTH_COMPILING = 1_500_000
"""Files from this size on are read by the compiled scanner, whose start takes about a second. [bytes]"""
_MARK = b"\xef\xbb\xbf"

Block = tuple[bytearray, int]
"""Bytes, and where the last complete line among them ends; one more byte can be read."""
Step = Callable[[Reading, Columns], None]


def last_end(data: bytearray, size: int, start: int = 0) -> int:
    """Return where the last complete line ends, 0: none does; a carriage return at the very end may be half an end."""
    feed = data.rfind(b"\n", start, size)
    first = max(
        feed, start
    )  # where lines end with a feed alone, a search for returns would go through them all
    return max(feed, data.rfind(b"\r", first, max(size - 1, first))) + 1


def blocks(file: RawIOBase | BytesIO, name: str, block_bytes: int = BLOCK_BYTES) -> Iterator[Block]:
    """
    Return the file in blocks of complete lines; each block is valid while `KEPT_BLOCKS` later ones are asked for.

    Parameters
    ----------
    file : binary file
        Read from where it stands.
    name : str
        File name that errors carry.
    block_bytes : int
        Size of the buffer, above `LONGEST_LINE` at least where lines may be as long. [1]

    Raises
    ------
    InputError
        A line does not end within a block.
    """
    data, *others = (bytearray(block_bytes + 2) for _ in range(KEPT_BLOCKS + 1))
    held = 0
    first = True
    while True:
        count = file.readinto(memoryview(data)[held:block_bytes])
        if first and bytes(data[:3]) == _MARK and count >= len(_MARK):
            data[:3] = b"   "
        first = False
        size = held + count
        if count == 0:
            if size:
                data[size : size + 2] = b"\n\0"
                yield data, size + 1
            return
        end = last_end(data, size)
        if end == 0 and size >= block_bytes:
            raise _no_text(name)
        if end:
            yield data, end
            held = size - end
            others[0][:held] = data[end:size]
            others.append(data)
            data = others.pop(0)
        else:
            held = size


def _no_text(where: str) -> InputError:
    return InputError(where, "is not a line of text", "G-code as plain text", "Check the file.")


def obey_line(reading: Reading, line: str) -> None:
    """
    Carry out one line by words.

    Raises
    ------
    InputError
        The line is too long or not text, or a number in it is malformed.
    """
    reading.whole[at.LINE] += 1
    if len(line) > LONGEST_LINE or "\0" in line:
        raise _no_text(reading.where)
    obey(reading, line)


def steps(source: Iterator[Block], compiled: bool) -> Generator[Step, None, None]:
    """
    Return what carries a file out, piece by piece; each is called once before the next is asked for.

    Parameters
    ----------
    source : iterator of Block
        The file.
    compiled : bool
        Whether the byte scanner takes the lines it knows.

    Yields
    ------
    step : function
        Takes reading and columns: changes the first and adds moves to the second; raises as `obey_line`.
    """
    if compiled:
        from voidless.toolpath.scan_ahead import compiled_steps

        yield from compiled_steps(source)
    else:
        for block in source:
            yield partial(_by_words, block)


def _by_words(block: Block, reading: Reading, columns: Columns) -> None:
    data, end = block
    text = data[:end].decode("latin-1").replace("\r\n", "\n").replace("\r", "\n")
    for line in text[:-1].split("\n"):
        obey_line(reading, line)
    columns.take(reading)
