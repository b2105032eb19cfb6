"""A table of gas expansions to the volume of a vessel, for the leak rates that need it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from voidless.errors import InputError, QuestionError
from voidless.measure.files.columns import Column, Layout, read_table
from voidless.measure.files.labels import labels
from voidless.measure.picture import curve_of, picture_of
from voidless.measure.results import Answers, Reading
from voidless.measure.tightness.vessel import CAUTION
from voidless.measure.tightness.volume import expansion_volume

__all__ = ["EXPANSION", "read_expansion", "volumes_by_name"]

EXPANSION = Layout(
    (
        Column("before_known", "Pa", True),
        Column("before_object", "Pa", True),
        Column("after", "Pa", True),
        Column("vessel", ""),
    ),
    frozenset({"bubbles", "response"}),
)
_OWN_WORDS = re.compile(r"(^|_)(expansion|expansions|volume)(?=_|$)", re.IGNORECASE)


def read_expansion(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return the volume of a vessel from a known volume that is opened to it.

    Parameters
    ----------
    name : str
        Name of the file; the vessel's name is taken from it where no column says it.
    data : bytes
        Columns before_known, before_object, after: absolute pressures, all at one temperature; one row an expansion.
    answers : Answers
        Facts `known_volume_cm3`, `known_volume_uncertainty_cm3`, `pressure_uncertainty_pa`.

    Returns
    -------
    reading : Reading
        In `reduced`: `vessel`, `volume_cm3`, `volume_uncertainty_cm3`.

    Raises
    ------
    QuestionError
        The known volume is not said.
    InputError
        The pressures are no expansion, or rows name several vessels.
    """
    table = read_table(name, data, EXPANSION, answers)
    known = answers.facts.get("known_volume_cm3")
    if known is None:
        raise QuestionError(
            table.where, "no known volume", "--fact known_volume_cm3=CM3", "Weigh it full of water."
        )
    said = {str(row["vessel"]) for row in table.rows if row.get("vessel")}
    if len(said) > 1:
        raise InputError(table.where, f"{len(said)} vessels", "one a file", "Split the table.")
    vessel = said.pop() if said else _OWN_WORDS.sub("", labels(name).specimen).strip("_")
    first, second, end = (table.numbers(column) for column in ("before_known", "before_object", "after"))
    unsure = answers.facts.get("pressure_uncertainty_pa", table.resolution("after"))
    own = answers.facts.get("known_volume_uncertainty_cm3", 0.0)
    volume, spread = expansion_volume(1e-6 * known, 1e-6 * own, first, second, end, unsure)
    ratios = [known * (a - e) / (e - b) for a, b, e in zip(first, second, end, strict=True)]
    picture = picture_of(
        "Volume by expansion",
        ("expansion", "volume [cm³]"),
        [curve_of("each", range(1, len(ratios) + 1), ratios)],
        says=f"Volume of {vessel or 'the vessel'} by each expansion: {1e6 * volume:.4g} cm³.",
    )
    reduced = {
        "kind": "vessel", "vessel": vessel, "expansions": len(ratios), "volume_cm3": 1e6 * volume,
        "volume_uncertainty_cm3": 1e6 * spread, "caution": CAUTION, "picture": picture,
    }  # fmt: skip
    notes = [f"{table.where}: {CAUTION}"]
    if not own:
        notes.append(
            f"{table.where}: no uncertainty of the known volume stated; it is not in that of the vessel"
        )
    return Reading((), (reduced,), (*table.warnings, *notes))


def volumes_by_name(found: Iterable[Mapping[str, object]]) -> tuple[tuple[str, str, str, float], ...]:
    """
    Return measured volumes as answers for the files of each vessel, by its name in theirs.

    Parameters
    ----------
    found : iterable of mapping
        Reduced entries; those of vessels with a name count.
    """
    return tuple(
        (f"*{item['vessel']}*", "facts", name, float(str(item[name])))
        for item in found
        if item.get("kind") == "vessel" and item["vessel"]
        for name in ("volume_cm3", "volume_uncertainty_cm3")
    )
