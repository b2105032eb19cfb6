"""Arguments and options that several commands share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from voidless.errors import InputError

__all__ = ["Folder", "Json", "pairs"]

Folder = Annotated[Path, typer.Argument(metavar="DIR", help="The campaign's folder.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="Print exactly one JSON object on standard output.")]


def pairs(given: Sequence[str], where: str, sample: str, commas: bool = False) -> dict[str, str]:
    """
    Return `NAME=VALUE` arguments by name; with `commas`, one argument may hold several.

    Raises
    ------
    InputError
        An argument has no `=` or a name comes twice.
    """
    found: dict[str, str] = {}
    parts = [piece for text in given for piece in text.split(",")] if commas else list(given)
    for part in filter(str.strip, parts):
        name, sign, value = (piece.strip() for piece in part.partition("="))
        if not sign or not name or not value:
            decimal = commas and found and not sign and name.isdigit()
            remedy = "Decimals take a point; a comma parts settings." if decimal else f"Write it as {sample}."
            raise InputError(where, f"{part!r} is not NAME=VALUE", sample, remedy)
        if name in found:
            raise InputError(where, f"{name} is given twice", "each name once", "Leave one out.")
        found[name] = value
    return found
