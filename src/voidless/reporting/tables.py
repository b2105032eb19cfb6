"""The numbers behind a plate, as tables of text."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.reporting.charts import (
    Bars,
    Chart,
    Curve,
    Field,
    Intervals,
    Layer,
    Mark,
    Numbers,
    Photo,
    Plate,
    Points,
    Rails,
    Rule,
    real,
)
from voidless.reporting.words import number

__all__ = ["Table", "tables"]


@dataclass(frozen=True)
class Table:
    """The numbers behind a plate, as text; the first column names its row."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


_COLUMNS = ("panel", "series", "across", "up", "low", "high")


def _at(given: Numbers, index: int) -> float | None:
    return given[index] if index < len(given) else None


def _curve(layer: Curve) -> list[tuple[object, ...]]:
    return [
        (layer.name, x, layer.mid[i], _at(layer.low, i), _at(layer.high, i)) for i, x in enumerate(layer.x)
    ]


def _points(layer: Points) -> list[tuple[object, ...]]:
    return [
        (
            layer.labels[i] if layer.labels else layer.name,
            x,
            layer.y[i],
            _at(layer.low, i),
            _at(layer.high, i),
        )
        for i, x in enumerate(layer.x)
    ]


def _rule(layer: Rule) -> list[tuple[object, ...]]:
    across, up = (layer.value, None) if layer.across == "x" else (None, layer.value)
    return [(layer.name, across, up, None, None)]


def _matrix(chart: Chart, layer: Field) -> Table:
    heads = (f"{chart.y.label} \\ {chart.x.label}", *(number(x, 3) for x in layer.x))
    rows = tuple(
        (number(y, 3), *(number(z, 2) for z in row)) for y, row in zip(layer.y, layer.z, strict=True)
    )
    return Table(chart.title or layer.name, heads, rows)


def _intervals(layer: Intervals) -> list[tuple[object, ...]]:
    return [
        (label, mid, None, low, high)
        for label, mid, low, high in zip(layer.labels, layer.mid, layer.low, layer.high, strict=True)
    ]


def _rails(layer: Rails) -> list[tuple[object, ...]]:
    return [(row.label, row.mid, None, row.inner_low, row.inner_high) for row in layer.rows]


def _rows(layer: Layer) -> list[tuple[object, ...]]:
    match layer:
        case Curve():
            return _curve(layer)
        case Points():
            return _points(layer)
        case Rule():
            return _rule(layer)
        case Mark():
            return [(layer.name, layer.x, layer.y, None, None)]
        case Field() | Photo():
            return []
        case Intervals():
            return _intervals(layer)
        case Bars():
            return [(a, v, None, None, None) for a, v in zip(layer.labels, layer.values, strict=True)]
        case Rails():
            return _rails(layer)


def _text(given: object) -> str:
    return given if isinstance(given, str) else "" if given is None else number(real(given))


def _long(plate: Plate) -> Table:
    several = len(plate.charts) > 1
    rows = [
        tuple(_text(item) for item in (chart.title if several else "", *row))
        for chart in plate.charts
        for layer in chart.layers
        for row in _rows(layer)
    ]
    heads = list(_COLUMNS)
    for place, axis in ((2, "x"), (3, "y")):
        labels = {getattr(chart, axis).label for chart in plate.charts}
        if len(labels) == 1:
            heads[place] = labels.pop() or heads[place]
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    return Table("", tuple(heads[i] for i in kept), tuple(tuple(row[i] for i in kept) for row in rows))


def tables(plate: Plate) -> tuple[Table, ...]:
    """
    Return the numbers behind a plate: one table of all its lines and points, and one grid a field.

    Parameters
    ----------
    plate : Plate
        One figure. Columns that nothing fills are left out.
    """
    grids = [
        _matrix(chart, layer) for chart in plate.charts for layer in chart.layers if isinstance(layer, Field)
    ]
    return tuple(table for table in (_long(plate), *grids) if table.rows)
