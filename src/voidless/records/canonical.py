"""JSON and hashes that come out the same on every machine."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence

from voidless.errors import InputError

__all__ = ["Json", "canonical_json", "finite", "sha256_of"]

Json = None | bool | int | float | str | Sequence["Json"] | Mapping[str, "Json"]


def canonical_json(value: object) -> str:
    """
    Return a value as JSON text with sorted keys and no blanks, equal for equal values.

    Raises
    ------
    InputError
        The value holds NaN, an infinity or something that JSON cannot carry.

    Examples
    --------
    >>> canonical_json({"b": 1, "a": [0.5, None]})
    '{"a":[0.5,null],"b":1}'
    """
    try:
        return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False, ensure_ascii=False)
    except (TypeError, ValueError) as problem:
        raise InputError(
            "records",
            f"a value cannot be kept as JSON: {problem}",
            "finite numbers, texts, lists and mappings with text keys",
            "Convert the value first.",
        ) from problem


def sha256_of(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def finite(name: str, value: object, low: float = float("-inf")) -> float:
    """
    Return a number as a float once it is known to be finite and not under `low`.

    Raises
    ------
    InputError
        It is no number, NaN, infinite or under `low`.
    """
    try:
        number = float(value)  # type: ignore[arg-type]  # whatever counts as a number does
    except (TypeError, ValueError):
        number = float("nan")
    if not (abs(number) < float("inf") and number >= low):
        expected = "a finite number" if low == float("-inf") else f"a finite number of at least {low:g}"
        raise InputError("records", f"{name} = {value!r} cannot be recorded", expected, "Correct the value.")
    return number
