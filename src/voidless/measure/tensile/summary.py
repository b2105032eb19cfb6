"""Sessions of a strength summary: the last one of each direction counts, earlier ones are listed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from voidless.errors import InputError, QuestionError
from voidless.measure.files.labels import direction_of
from voidless.measure.files.rows import number
from voidless.measure.files.text import decode
from voidless.measure.tensile.blocks import TextBlock, read_blocks
from voidless.units import convert

__all__ = ["Session", "Summary", "read_summary"]

_TRIAL_KEY = re.compile(r"(?:trial|specimen)\s*#?\s*(\d+)")
_MEASURE = re.compile(r"([-+]?[\d.,]+(?:[eE][-+]?\d+)?)\s*([^\s(]*)\s*(\(.*\))?")


@dataclass(frozen=True)
class Session:
    """
    One block of a summary: the trials of one direction in one session.

    Attributes
    ----------
    direction : str
        `xy`, `across` or `z`.
    line : int
        Line number of its title. [1]
    section_mm2 : float or None
        Cross-section, None where the block states none. [mm²]
    trials : mapping of int to float
        Maximum force by trial as printed. [N]
    mean_force_n, strength_mpa : float or None
        As printed. [N], [MPa]
    decimals : int
        Decimals of the printed strength. [1]
    stated : mapping of str to str
        Further lines, as written: threshold, bead width, layer thickness, notes.
    """

    direction: str
    line: int
    section_mm2: float | None
    trials: Mapping[int, float]
    mean_force_n: float | None
    strength_mpa: float | None
    decimals: int
    stated: Mapping[str, str]


@dataclass(frozen=True)
class Summary:
    """Sessions of a summary: the last of each direction, and the earlier ones that are not pooled with it."""

    last: Mapping[str, Session]
    earlier: tuple[Session, ...]
    warnings: tuple[str, ...] = ()


def read_summary(name: str, data: bytes) -> Summary:
    """
    Return the sessions that a strength summary holds.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.

    Returns
    -------
    summary : Summary
        The last block of each direction counts; earlier blocks are sessions of their own.

    Raises
    ------
    QuestionError
        A force is printed without a unit.
    InputError
        The file is no such summary, or a block states no direction or no trial.
    """
    text = decode(name, data)
    blocks = [
        block for block in read_blocks(text.text) if any(_TRIAL_KEY.fullmatch(key) for key, _ in block.pairs)
    ]
    if not blocks:
        raise InputError(name, "no block with trials", "lines such as `Trial 1: 812.40 N`", "Check the file.")
    sessions = [_session(name, block) for block in blocks]
    last = {session.direction: session for session in sessions}
    earlier = tuple(session for session in sessions if last[session.direction] is not session)
    warnings = list(text.warnings)
    if earlier:
        lines = ", ".join(str(session.line) for session in earlier)
        warnings.append(f"{name}: earlier sessions at line {lines} are listed and not pooled with the last")
    return Summary(last, earlier, (*warnings, *_second_units(name, blocks)))


def _session(name: str, block: TextBlock) -> Session:
    where = f"{name}:{block.line}"
    written = block.value("axis", "direction", "orientation")
    direction = direction_of(written)
    if not direction:
        raise InputError(where, f"direction {written!r}", "xy, across or z", "Write the line `Axis: z`.")
    trials = {
        int(match[1]): _measure(f"{where}, {key}", value, "N")
        for key, value in block.pairs
        if (match := _TRIAL_KEY.fullmatch(key))
    }
    section = block.value("cross-section", "cross section", "section", "area")
    strength = block.value("tensile strength", "strength")
    mean = block.value("average max force", "mean max force", "average force", "mean force")
    digits = re.match(r"\d+\.(\d+)", strength)
    skipped = ("axis", "direction", "orientation", "results")
    stated = {
        key: value
        for key, value in block.pairs
        if value and not _TRIAL_KEY.fullmatch(key) and key not in skipped
    }
    return Session(
        direction,
        block.line,
        _measure(f"{where}, section", section, "mm2") if section else None,
        trials,
        _measure(f"{where}, mean force", mean, "N") if mean else None,
        _measure(f"{where}, strength", strength, "MPa") if strength else None,
        len(digits[1]) if digits else 0,
        stated,
    )


def _measure(where: str, text: str, target: str) -> float:
    match = _MEASURE.fullmatch(text)
    value = number(match[1]) if match else None
    if match is None or value is None or not value > 0:
        raise InputError(
            where, f"{text[:40]!r}", f"a number above 0 with its unit, such as 25 {target}", "Mend the line."
        )
    if not match[2]:
        raise QuestionError(
            where, f"{text!r} has no unit", f"a unit in the file, such as {target}", "Write the unit."
        )
    return convert(value, match[2], target, where)


def _second_units(name: str, blocks: list[TextBlock]) -> list[str]:
    found = []
    for block in blocks:
        second = [
            value[value.index("(") :] for _, value in block.pairs if re.match(r"[\d.]+ \S+ \(.*\)$", value)
        ]
        if second:
            found.append(f"{name}:{block.line}: second units {' '.join(second)} are not read")
    return found
