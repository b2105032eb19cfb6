"""What sets a layer apart from the median layer of a part so that its welds are weaker, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from voidless.toolpath.heights import layer_steps, layer_tops
from voidless.toolpath.motion import SpeedProfile, spent_time
from voidless.toolpath.moves import Moves
from voidless.toolpath.priming import without_priming
from voidless.toolpath.turns import turned

__all__ = ["unusual_layers"]

Floats = NDArray[np.float64]

# From here on a layer differs from the median of all: by more than planned fill varies from layer to layer. Assumed.
_NARROWER, _FASTER, _LONGER = 0.95, 1.25, 1.5
_SHORTEST_MM = 1e-3  # shorter beads have no weld
_COLDER_K, _MORE_FAN_PCT = 3.0, 10.0


def unusual_layers(moves: Moves, profile: SpeedProfile) -> tuple[tuple[str, ...], ...]:
    """
    Return for each layer, from the bed up, what of it differs from the median layer and makes a weld weaker.

    Parameters
    ----------
    moves : Moves
        Moves in order, as planned or read; priming lines are left out, turns of a rising path are layers.
    profile : SpeedProfile
        How they really run.

    Returns
    -------
    words : tuple of tuples of str
        Narrower or faster beads, a colder nozzle, more fan, a longer time of the layer or of the one below.

    Notes
    -----
    Each is compared with the (lower) median over the layers; what a file does not state is no difference.
    """
    moves, height = turned(without_priming(moves))
    rows = np.flatnonzero(moves.deposits & (moves.layer >= 0) & (moves.length_mm > _SHORTEST_MM))
    if not rows.size:
        return ()
    numbers, tops = layer_tops(height[rows], moves.layer[rows])
    layer, length = np.searchsorted(numbers, moves.layer[rows]), moves.length_mm[rows]

    def summed(values: Floats) -> Floats:
        return np.bincount(layer, weights=values, minlength=len(numbers)).astype(float)

    total = summed(length)
    columns = {
        "width": summed(moves.volume_mm3[rows] * moves.flow_factor[rows]) / (total * layer_steps(tops)),
        "speed": total / np.maximum(summed((profile.time_s - moves.dwell_s)[rows]), 1e-9),
        "nozzle": summed(moves.nozzle_c[rows] * length) / total,
        "fan": summed(moves.fan_pct[rows] * length) / total,
        "time": spent_time(moves, profile).per_layer_s[numbers],
    }
    usual = {name: float(np.percentile(values, 50.0, method="lower")) for name, values in columns.items()}
    return tuple(
        tuple(_differences({name: values[: k + 1].tolist() for name, values in columns.items()}, usual))
        for k in range(len(numbers))
    )


def _differences(so_far: dict[str, list[float]], usual: dict[str, float]) -> Iterator[str]:
    """Yield in words how the last of the layers so far differs from what is usual."""
    last = {name: values[-1] for name, values in so_far.items()}
    if last["width"] < _NARROWER * usual["width"]:
        yield f"beads {100.0 * (1.0 - last['width'] / usual['width']):.0f} % narrower than in the median layer"
    if last["speed"] > _FASTER * usual["speed"]:
        yield f"beads at {last['speed']:.0f} mm/s, in the median layer {usual['speed']:.0f}"
    if last["nozzle"] < usual["nozzle"] - _COLDER_K:
        yield f"nozzle {usual['nozzle'] - last['nozzle']:.0f} K colder than in the median layer"
    if last["fan"] > usual["fan"] + _MORE_FAN_PCT:
        yield f"fan at {last['fan']:.0f} %, in the median layer {usual['fan']:.0f} %"
    for name, time in zip(("took", "the layer below took"), so_far["time"][:-3:-1], strict=False):
        if time > _LONGER * usual["time"]:
            yield f"{name} {time:.3g} s, the median layer {usual['time']:.3g} s"
