"""
Charts as SVG text, the same bytes every time.

matplotlib is imported when the first chart is drawn and used without pyplot, so nothing is shared between
threads but its settings, which a lock guards.
"""

from __future__ import annotations

import io
import threading
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from voidless.reporting import charts
from voidless.reporting.paint import PAINTERS
from voidless.reporting.vector import PALETTE, fit_for_page

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw"]

_LOCK = threading.Lock()
_SETTINGS: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "voidless",
    "font.family": "DejaVu Sans",
    "font.size": 11.0,
    "axes.unicode_minus": True,
    "axes.formatter.useoffset": False,
    "text.parse_math": False,  # a name may hold a dollar sign
}
_INK, _MUTED, _GRID = PALETTE["ink"], PALETTE["muted"], PALETTE["grid"]
_LEFT, _RIGHT, _TOP, _BOTTOM = 42.0, 14.0, 26.0, 44.0
_ROW = 34.0

_ROWED = (charts.Intervals, charts.Bars, charts.Rails)


def _size(chart: charts.Chart) -> tuple[float, float, float]:
    """Return width, height and left margin; charts of rows are as tall as their rows need."""
    width, height = chart.size
    for layer in chart.layers:
        if isinstance(layer, _ROWED):
            rows = len(layer.rows) if isinstance(layer, charts.Rails) else len(layer.labels)
            bottom = 4.0 if isinstance(layer, charts.Rails) else _BOTTOM
            return float(width), _ROW * (rows + 0.5) + 12.0 + bottom, 10.0
    return float(width), float(height), _LEFT


def _dress(axes: Axes, chart: charts.Chart) -> None:
    from matplotlib.ticker import MaxNLocator

    axes.patch.set_visible(False)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for spine in axes.spines.values():
        spine.set_color(_MUTED)
        spine.set_linewidth(0.8)
    axes.tick_params(color=_MUTED, labelcolor=_MUTED, length=3, labelsize=10)
    axes.set_xlabel(chart.x.label, color=_INK, fontsize=11, labelpad=5)
    if chart.y.label:  # lying above the axis it can be read without turning the head
        axes.annotate(
            chart.y.label,
            (0.0, 1.0),
            (4.0 - _LEFT, 9.0),
            xycoords="axes fraction",
            textcoords="offset points",
            fontsize=11,
            color=_INK,
            annotation_clip=False,
        )
    axes.yaxis.set_offset_position("right")  # a power of ten would lie over the name of the axis
    axes.xaxis.set_major_locator(MaxNLocator(5, integer=_counted(chart)))
    axes.yaxis.set_major_locator(MaxNLocator(5))
    if not any(isinstance(layer, charts.Field | charts.Photo | charts.Rails) for layer in chart.layers):
        axes.grid(visible=True, axis="x" if any(isinstance(x, _ROWED) for x in chart.layers) else "both",
                  color=_GRID, linewidth=0.8, zorder=0)  # fmt: skip
        axes.set_axisbelow(True)


def _counted(chart: charts.Chart) -> bool:
    """Return whether points stand at whole places, between which no tick belongs."""
    places = [x for layer in chart.layers if isinstance(layer, charts.Points) for x in layer.x]
    return bool(places) and all(float(x).is_integer() for x in places)


def _widen(axes: Axes) -> None:
    """Give values that are all alike a range around them, in which they show as alike."""
    low, high = axes.get_ylim()
    middle = 0.5 * (low + high)
    if 0.0 < high - low < 1e-3 * abs(middle) or (high == low):
        room = 0.05 * abs(middle) or 0.5
        axes.set_ylim(middle - room, middle + room)


@lru_cache(maxsize=256)
def draw(chart: charts.Chart) -> str:
    """
    Return a chart as an SVG element for an HTML page.

    Parameters
    ----------
    chart : Chart
        What to show; the same chart gives the same text.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure

    width, height, left = _size(chart)
    rails = any(isinstance(layer, charts.Rails) for layer in chart.layers)
    bottom = 4.0 if rails else _BOTTOM
    top = _TOP if chart.y.label else 12.0
    with _LOCK, mpl.rc_context(_SETTINGS):
        figure = Figure(figsize=(width / 72.0, height / 72.0))
        figure.patch.set_visible(False)
        axes = figure.add_axes(
            (left / width, bottom / height, (width - left - _RIGHT) / width, (height - bottom - top) / height)
        )
        _dress(axes, chart)
        for layer in chart.layers:
            PAINTERS[type(layer)](axes, layer)
        _widen(axes)
        axes.set_xlim(chart.x.low, chart.x.high) if chart.x.low is not None else None
        axes.set_ylim(chart.y.low, chart.y.high) if chart.y.low is not None else None
        written = io.StringIO()
        figure.savefig(written, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return fit_for_page(written.getvalue(), chart.key, chart.title or chart.x.label, chart.alt)
