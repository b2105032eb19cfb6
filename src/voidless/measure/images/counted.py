"""A table of points counted by eye on sections to void shares."""

from __future__ import annotations

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import InputError
from voidless.measure.files.columns import Column, Layout, read_table
from voidless.measure.files.labels import labels
from voidless.measure.images.points import point_count, unseen_share
from voidless.measure.picture import picture_of, points_of, rule_of
from voidless.measure.results import Answers, Reading

__all__ = ["POINTS", "read_points"]

POINTS = Layout(
    (
        Column("hits", "1", True),
        Column("points", "1", True),
        Column("field", ""),
        Column("plane", ""),
        Column("note", ""),
    ),
    frozenset({"response", "value"}),
)
_AIMED_PCT = 10.0
"""Half-width of the interval over the mean that ASTM E562 calls a usual aim (from memory). [%]"""


def read_points(name: str, data: bytes, answers: Answers) -> Reading:
    """
    Return void shares of points counted by eye, one row a field.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Columns hits (a point on a border counts half) and points; run, build, specimen, field, plane.
    answers : Answers
        Units.

    Returns
    -------
    reading : Reading
        `void_pct` of each specimen with its 95 % interval between fields; an upper bound where nothing was hit.

    Raises
    ------
    InputError
        A row is wrong, or a specimen has fewer than two fields: nothing is taken.
    """
    table, own = read_table(name, data, POINTS, answers), labels(name)
    found: dict[tuple[str, str, str, str], list[tuple[float, float]]] = {}
    for row, line, hits, points in zip(
        table.rows, table.lines, table.numbers("hits"), table.numbers("points"), strict=True
    ):
        if not (0 <= hits <= points and points >= 1 and (2 * hits).is_integer() and points.is_integer()):
            raise InputError(
                f"{table.where}:{line}", f"{hits:g} hits of {points:g} points", "halves of 0 to all points",
                "Correct the row.",
            )  # fmt: skip
        said = [str(row.get(key) or getattr(own, key)) for key in ("run", "build", "specimen")]
        key = (said[0], said[1], said[2], str(row.get("plane") or "not stated"))
        found.setdefault(key, []).append((hits, points))
    observations, reduced, words = [], [], []
    for (run, build, specimen, plane), fields in found.items():
        where = ": ".join(filter(None, (table.where, " ".join(filter(None, (run, build, specimen))))))
        shares = [100.0 * hits / points for hits, points in fields]
        count, total = point_count(shares, where), int(sum(points for _, points in fields))
        none = count.mean_pct == 0.0
        value = 100.0 * unseen_share(total) if none else count.mean_pct
        spread = None if none else count.reach_pct / 1.96
        key_of = ResponseKey("void_pct", "points_e562", "", (("plane", plane),))
        bound = Bound.UPPER if none else Bound.EXACT
        observations.append(Observation(run, build, specimen, key_of, value, spread, bound))
        if not none and count.relative_pct > _AIMED_PCT:
            words.append(
                f"{where}: the interval is {count.relative_pct:.0f} % of the mean; more fields make it narrower"
            )
        picture = picture_of(
            "Points on voids by field", ("field [1]", "share [%]"), [],
            rules=[rule_of("mean", count.mean_pct, "y")],
            says=f"{count.mean_pct:.3g} ± {count.reach_pct:.2g} % of {total} points in {count.fields} fields.",
            points=[points_of("fields", shares)],
        )  # fmt: skip
        reduced.append(
            {"kind": "points", "run": run, "build": build, "specimen": specimen, "void_pct": value,
             "reach_pct": count.reach_pct, "relative_pct": None if none else count.relative_pct,
             "fields": count.fields, "points": total, "picture": picture}
        )  # fmt: skip
    return Reading(tuple(observations), tuple(reduced), (*table.warnings, *words))
