"""Names, units and numbers as people read them on pages and plots."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from voidless.quantities import QUANTITIES, Role, names

__all__ = [
    "axis_label",
    "counted",
    "number",
    "per",
    "percent",
    "plain",
    "sentence",
    "short",
    "short_hash",
    "span",
    "spread",
    "term",
    "to_set",
    "unit_mark",
    "value",
    "words",
]

NOT_KNOWN = "–"
_GAP = "\u00a0"  # a number and its unit stay on one line

_NOT_QUANTITIES = {"build_ok": "a build that does not fail"}

_UNIT_MARKS = {
    "1": "",
    "deg": "°",
    "degC": "°C",
    "g/cm3": "g/cm³",
    "kJ/m2": "kJ/m²",
    "mm3/s": "mm³/s",
    "Pa m3/s": "Pa m³/s",
}


def _parts(name: str) -> tuple[str, str]:
    """Return quantity and feature of a name such as `size_error_mm:bore`."""
    quantity, _, feature = name.partition(":")
    return quantity, feature


def unit_mark(name: str) -> str:
    """Return the unit of a quantity as printed beside numbers; empty for plain numbers and unknown names."""
    known = QUANTITIES.get(_parts(name)[0])
    return _UNIT_MARKS.get(known.unit, known.unit) if known else ""


def words(name: str) -> str:
    """Return what a person calls a quantity, with its feature; an unknown name is returned as it is."""
    quantity, feature = _parts(name)
    known = QUANTITIES.get(quantity)
    if known is None:
        return _NOT_QUANTITIES.get(name, name)
    return f"{known.words} [{feature}]" if feature else known.words


def short(name: str) -> str:
    """Return what a person calls a quantity, without the words that explain it."""
    quantity, feature = _parts(name)
    known = QUANTITIES.get(quantity)
    if known is None:
        return name
    text = known.words.partition(",")[0]
    return f"{text} [{feature}]" if feature else text


def to_set(settings: Mapping[str, float]) -> dict[str, float]:
    """
    Return what a person sets, known settings first and in their usual order.

    Parameters
    ----------
    settings : mapping of str to float
        Settings by name. [unit in the name]

    Notes
    -----
    A chamber at 0 is one that is not heated: nothing to set.
    """
    known = names(Role.SETTING)
    order = sorted(settings, key=lambda name: (known.index(name) if name in known else len(known), name))
    return {name: settings[name] for name in order if name != "chamber_c" or settings[name] != 0.0}


def per(response: str, variable: str) -> str:
    """
    Return the unit of a slope.

    Examples
    --------
    >>> per("strength_z_mpa", "exposure_h"), per("clarity", "order")
    ('MPa per h', 'per step')
    """
    return f"{unit_mark(response)} per {unit_mark(variable) or 'step'}".strip()


def sentence(text: str) -> str:
    """Return a text with its first letter large and every other as it was."""
    return text[:1].upper() + text[1:]


def axis_label(name: str) -> str:
    """Return words and unit of a quantity, for an axis or a column head."""
    mark = unit_mark(name)
    return f"{short(name)} ({mark})" if mark else short(name)


def term(name: str) -> str:
    """
    Return a model term in words.

    Examples
    --------
    >>> term("nozzle_c:flow_pct"), term("nozzle_c^2")
    ('nozzle temperature × flow', 'nozzle temperature²')
    """
    text = re.sub(r"\s*[:*×]\s*|\s+x\s+", " × ", name).replace("^2", "²")
    return re.sub(r"[A-Za-z][A-Za-z0-9_]*", lambda found: short(found.group()), text)


def plain(text: str) -> str:
    """
    Return a sentence with the names of quantities put into words.

    Examples
    --------
    >>> plain("clarity: flow_pct explains half")
    'clarity: flow explains half'
    >>> plain("size_error_mm:x: flow_pct explains half")
    'size error [x]: flow explains half'
    """
    known = re.compile(r"\b([a-z][a-z0-9]*(?:_[a-z0-9]+)+)(?::([a-z][a-z0-9_]*))?")
    return known.sub(lambda found: short(found[1]) + (f" [{found[2]}]" if found[2] else ""), text)


def counted(many: float, noun: str) -> str:
    """Return a count with its noun, given in the plural."""
    return f"{number(many)} {noun.removesuffix('s') if many == 1 else noun}"


def _minus(text: str) -> str:
    return text.replace("-", "−")


def number(given: float | None, digits: int = 4) -> str:
    """Return a number with so many significant digits; a dash where there is none."""
    if given is None or not math.isfinite(given):
        return NOT_KNOWN
    if given == 0.0:
        return "0"
    if not 1e-4 <= abs(given) < 1e6:
        return _minus(f"{given:.{max(digits - 2, 1)}e}")
    places = max(digits - 1 - math.floor(math.log10(abs(given))), 0)
    text = f"{given:.{places}f}"
    return _minus(text.rstrip("0").rstrip(".") if "." in text else text)


def percent(given: float | None) -> str:
    """Return a share from 0 to 1 in per cent, never rounded up to certainty."""
    if given is None or not math.isfinite(given):
        return NOT_KNOWN
    if 0.995 < given < 1.0:
        return f">{_GAP}99{_GAP}%"
    if 0.0 < given < 0.005:
        return f"<{_GAP}1{_GAP}%"
    return f"{100.0 * given:.0f}{_GAP}%"


def spread(given: float | None, low: float | None, high: float | None) -> str:
    """Return a number with as many places as its interval supports (two digits of the half width)."""
    if given is None or low is None or high is None:
        return number(given)
    half = 0.5 * (high - low)
    if not (math.isfinite(given) and math.isfinite(half) and half > 0.0):
        return number(given)
    places = 1 - math.floor(math.log10(half))
    if not 0 <= places <= 6:
        return number(given)
    return _minus(f"{given:.{places}f}")


def span(low: float | None, high: float | None) -> str:
    """Return an interval; where both ends are one the number was computed, not measured, and it says so."""
    if low is None or high is None or not (math.isfinite(low) and math.isfinite(high)):
        return NOT_KNOWN
    if low == high:
        return "computed"
    return f"{spread(low, low, high)} to {spread(high, low, high)}"


def value(name: str, given: float | None) -> str:
    """Return a number with the unit of its quantity."""
    mark = unit_mark(name)
    text = number(given)
    return text + ("" if mark == "°" else _GAP) + mark if mark and text != NOT_KNOWN else text


def short_hash(digest: str | None) -> str:
    """Return the first twelve digits of a checksum."""
    return digest[:12] if digest else NOT_KNOWN
