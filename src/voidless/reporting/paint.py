"""How each kind of layer is painted on its axes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from voidless.reporting import charts
from voidless.reporting.vector import PALETTE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["PAINTERS"]

_INK, _MUTED, _GRID = PALETTE["ink"], PALETTE["muted"], PALETTE["grid"]
_PAPER, _ACCENT, _SOFT, _SECOND = PALETTE["paper"], PALETTE["accent"], PALETTE["soft"], PALETTE["second"]
_CLEAR = {"facecolor": _PAPER, "edgecolor": "none", "pad": 0.8}
"""Ground of words that stand on lines."""


def _curve(axes: Axes, layer: charts.Curve) -> None:
    if layer.low:
        axes.fill_between(layer.x, layer.low, layer.high, color=_SOFT, linewidth=0, zorder=1)
    style = (0, (5, 3)) if layer.dashed else "solid"
    axes.plot(
        layer.x,
        layer.mid,
        color=_MUTED if layer.dashed else _ACCENT,
        linewidth=1.8,
        linestyle=style,
        zorder=3,
    )


def _points(axes: Axes, layer: charts.Points) -> None:
    if layer.low:
        axes.vlines(layer.x, layer.low, layer.high, color=_MUTED, linewidth=1.2, zorder=3)
    axes.plot(
        layer.x,
        layer.y,
        linestyle="none",
        marker="o",
        markersize=5.5,
        color=_ACCENT,
        markeredgecolor=_PAPER,
        zorder=4,
    )


def _clear_side(axes: Axes, value: float) -> str:
    """Return the end at which lines stay farther from a value, so that its name can stand there."""
    ends: list[Any] = [np.asarray(line.get_ydata(), dtype=float) for line in axes.lines]
    ends = [line for line in ends if line.size > 2]
    left, right = (min((abs(line[end] - value) for line in ends), default=0.0) for end in (0, -1))
    return "left" if left > right else "right"


def _rule(axes: Axes, layer: charts.Rule) -> None:
    line = axes.axvline if layer.across == "x" else axes.axhline
    line(layer.value, color=_SECOND, linewidth=1.3, linestyle=(0, (4, 2.5)), zorder=2)
    if layer.name and layer.across == "y":
        side = _clear_side(axes, layer.value)
        axes.text(
            0.01 if side == "left" else 0.99, layer.value, layer.name, transform=axes.get_yaxis_transform(),
            ha=side, va="bottom",
            fontsize=10, color=_SECOND, zorder=5, bbox={**_CLEAR, "alpha": 0.85},
        )  # fmt: skip


def _mark(axes: Axes, layer: charts.Mark) -> None:
    axes.plot(
        [layer.x], [layer.y], marker="o", markersize=10, color="#ffffff", markeredgecolor="#000000", zorder=6
    )
    axes.plot([layer.x], [layer.y], marker="+", markersize=7, color="#000000", zorder=7)


def _field(axes: Axes, layer: charts.Field) -> None:
    grid = np.ma.masked_invalid(np.array(layer.z, dtype=float))
    levels = np.linspace(0.0, 1.0, 11)
    filled = axes.contourf(
        layer.x, layer.y, grid, levels=levels, cmap="cividis", vmin=0.0, vmax=1.0, zorder=1
    )
    filled.set_edgecolor("face")
    if grid.count() and grid.min() < layer.traced < grid.max():
        for colour, width in (("#000000", 3.4), ("#ffffff", 1.6)):
            axes.contour(
                layer.x, layer.y, grid, levels=[layer.traced], colors=colour, linewidths=width, zorder=3
            )
    _colour_key(axes, levels, layer.traced)


def _photo(axes: Axes, layer: charts.Photo) -> None:
    grey, found = (np.array(rows, dtype=float) for rows in (layer.grey, layer.found))
    height, width = grey.shape
    ends = (0.0, width * layer.step, height * layer.step, 0.0)
    axes.imshow(grey, cmap="gray", vmin=0.0, vmax=1.0, extent=ends, interpolation="nearest", zorder=1)
    if min(found.shape) > 1 and found.max() > 0.0:
        x, y = ((np.arange(count) + 0.5) * layer.step for count in (width, height))
        level = 0.5 * float(found.max())
        for colour, thick in (("#000000", 2.2), (PALETTE["soft"], 1.0)):
            axes.contour(x, y, found, levels=[level], colors=colour, linewidths=thick, zorder=3)


def _colour_key(axes: Axes, levels: Any, traced: float) -> None:
    box = axes.get_position()
    figure = axes.get_figure(root=True)
    assert figure is not None  # axes made by `draw` stand in a figure
    width = figure.get_figwidth() * 72.0
    axes.set_position((box.x0, box.y0, box.width - 44.0 / width, box.height))
    key = figure.add_axes((box.x1 - 34.0 / width, box.y0, 9.0 / width, box.height))
    steps = (0.5 * (levels[1:] + levels[:-1]))[:, None]
    key.pcolormesh(
        [0.0, 1.0], levels, steps, cmap="cividis", vmin=0.0, vmax=1.0, edgecolors="face", linewidth=0.5
    )
    key.set_xticks([])
    key.yaxis.tick_right()
    key.set_yticks([0.0, 0.5, 1.0], ["0", "0.5", "1"])
    key.tick_params(length=2, color=_MUTED, labelcolor=_MUTED, labelsize=9.5)
    key.axhline(traced, color="#ffffff", linewidth=2.0)
    for side in key.spines.values():
        side.set_visible(False)


def _row_labels(axes: Axes, labels: tuple[str, ...], bold: tuple[bool, ...] = ()) -> None:
    axes.set_ylim(len(labels) - 0.35, -0.85)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    for row, label in enumerate(labels):
        strong = bool(bold) and bold[row]
        axes.text(
            0.0, row - 0.3, label, transform=axes.get_yaxis_transform(), ha="left", va="bottom",
            fontsize=10.5, color=_INK if strong or not bold else _MUTED, bbox=_CLEAR, zorder=2,
        )  # fmt: skip


def _intervals(axes: Axes, layer: charts.Intervals) -> None:
    rows = range(len(layer.labels))
    axes.axvline(0.0, color=_MUTED, linewidth=1.0, zorder=1)
    for row in rows:
        colour = _ACCENT if layer.strong[row] else _MUTED
        axes.hlines(
            row, layer.low[row], layer.high[row], color=colour, linewidth=2.4 if layer.strong[row] else 1.3
        )
        axes.plot(
            [layer.mid[row]], [row], marker="o", markersize=7, color=colour if layer.strong[row] else _PAPER,
            markeredgecolor=colour, markeredgewidth=1.4, zorder=4,
        )  # fmt: skip
    _row_labels(axes, layer.labels, layer.strong)


def _bars(axes: Axes, layer: charts.Bars) -> None:
    rows = list(range(len(layer.labels)))
    axes.barh(rows, layer.values, height=0.42, color=_ACCENT, zorder=3)
    _row_labels(axes, layer.labels)


def _rails(axes: Axes, layer: charts.Rails) -> None:
    for row, rail in enumerate(layer.rows):
        length = rail.high - rail.low
        low, high, mid = ((end - rail.low) / length for end in (rail.inner_low, rail.inner_high, rail.mid))
        axes.hlines(row, 0.0, 1.0, color=_GRID, linewidth=6, capstyle="round")
        axes.hlines(row, low, high, color=_ACCENT, linewidth=6, zorder=2)
        axes.plot([mid], [row], marker="o", markersize=8, color=_PAPER, markeredgecolor=_INK, zorder=4)
        for limit in rail.limits:
            place = (limit - rail.low) / length
            axes.vlines(place, row - 0.2, row + 0.2, color=_SECOND, linewidth=2.2, zorder=3)
        axes.text(1.0, row - 0.3, rail.note, ha="right", va="bottom", fontsize=10.5, color=_MUTED)
    axes.set_xlim(-0.02, 1.02)
    axes.set_xticks([])
    axes.spines["bottom"].set_visible(False)
    _row_labels(axes, tuple(rail.label for rail in layer.rows))


PAINTERS: dict[type, Callable[[Axes, Any], None]] = {
    charts.Curve: _curve,
    charts.Points: _points,
    charts.Rule: _rule,
    charts.Mark: _mark,
    charts.Field: _field,
    charts.Photo: _photo,
    charts.Intervals: _intervals,
    charts.Bars: _bars,
    charts.Rails: _rails,
}
"""Painter of each kind of layer."""
