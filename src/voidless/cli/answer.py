"""One answer: a JSON object on standard output, or text for people."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from typing import Any, TextIO

from voidless.workflows.plain import plain

__all__ = ["answer", "print_json", "printable"]


def printable(text: str) -> str:
    """Return text with control characters written out: a file's name must not command the terminal."""
    return "".join(sign if sign.isprintable() or sign == "\n" else repr(sign)[1:-1] for sign in text)


def print_json(result: Mapping[str, Any], stream: TextIO | None = None) -> None:
    """Write one JSON object and a newline."""
    text = json.dumps(plain(result), ensure_ascii=False, allow_nan=False)
    (stream or sys.stdout).write(text + "\n")


def answer(result: Mapping[str, Any], as_json: bool, render: Callable[[Mapping[str, Any]], None]) -> None:
    """Write a workflow's result as JSON, or render it for people."""
    if as_json:
        print_json(result)
    else:
        render(result)
