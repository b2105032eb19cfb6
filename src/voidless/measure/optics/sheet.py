"""A sheet of frames to haze, transmittance, clarity and yellowness, with their conditions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.errors import InputError
from voidless.measure.images.picture import Picture
from voidless.measure.images.sheet import Sheet
from voidless.measure.optics.bench import Bench
from voidless.measure.optics.clarity import (
    Conditions,
    bar_contrast,
    check_bars,
    edge_contrast,
    reduce_clarity,
)
from voidless.measure.optics.colour import reduce_colour
from voidless.measure.optics.frames import check_linearity, check_same_exposure, light_of, require_linear
from voidless.measure.optics.haze import Frames, Haze, reduce_haze
from voidless.measure.picture import curve_of, picture_of, points_of
from voidless.measure.results import Reading
from voidless.measure.series.trend import coverage_factor

__all__ = ["read_clarity", "read_colour", "read_haze"]

Floats = NDArray[np.float64]

_CONTROL_T, _CONTROL_WITHIN = 92.0, 1.0
"""Transmittance of a cast PMMA plate of 3 mm, and how near it must read. [%] Grade sheets print 92 (index 1.49)."""
_CONTROL_MM, _CONTROL_INDEX = 3.0, 1.4914
"""Thickness [mm] and refractive index of such a plate. [1]"""
_CONTROL_HAZE = 1.0
"""Most haze of such a plate. [%] Grade sheets print below 0.5."""


def _frames(sheet: Sheet, files: Mapping[str, bytes], roles: Sequence[str]) -> dict[str, list[Picture]]:
    """Return frames by role, all linear and of one exposure."""
    found = {role: sheet.pictures(role, files) for role in roles}
    every = [picture for pictures in found.values() for picture in pictures]
    for picture in every:
        require_linear(picture, sheet.linear)
    check_same_exposure(every)
    return found


def _dark(found: Mapping[str, list[Picture]], channel: int | None = None) -> Floats | float:
    dark = found.get("dark", [])
    if not dark:
        return 0.0
    total = np.zeros(light_of(dark[0], channel).shape)
    for picture in dark:
        total += light_of(picture, channel)
    return total / len(dark)


def _cut(sheet: Sheet, light: Floats) -> Floats:
    if sheet.region is None:
        return light
    left, top, right, bottom = sheet.region
    if right > light.shape[1] or bottom > light.shape[0]:
        raise InputError(
            sheet.where, f"region_px {sheet.region}", f"within {light.shape[::-1]}", "Correct it."
        )
    return light[top:bottom, left:right]


def _bench(sheet: Sheet) -> Bench:
    return Bench(
        sheet.number("distance_mm"),
        sheet.number("spot_mm"),
        sheet.number("panel_mm"),
        sheet.number("pupil_deg"),
        sheet.number("index"),
        sheet.number("thickness_mm"),
        sheet.number("plaque_mm", 50.0),
        sheet.number("distance_uncertainty_mm", 0.5),
        sheet.number("spot_uncertainty_mm", 0.05),
    )


def _conditions(sheet: Sheet, *more: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    said = {key: sheet.words[key] for key in ("axis", "side", "surface") if key in sheet.words}
    if "thickness_mm" in sheet.numbers:
        said["thickness_mm"] = f"{sheet.numbers['thickness_mm']:g}"
    return tuple(sorted({**said, **dict(more)}.items()))


def read_haze(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    """
    Return haze and transmittance of a sheet of four frames.

    Parameters
    ----------
    sheet : Sheet
        With `open, plaque, spot, plaque_spot`, as many of each as there are sets.
    files : mapping of str to bytes
        Frames by name.

    Returns
    -------
    reading : Reading
        `haze_pct` (an upper bound where it is below its detection limit) and `transmittance_pct`.

    Raises
    ------
    InputError
        A frame is not fit for photometry, sets are not whole, or a check fails.
    """
    names = ("open", "plaque", "spot", "plaque_spot")
    counts = {len(sheet.frames[role]) for role in names}
    if len(counts) != 1:
        raise InputError(
            sheet.where, "sets that are not whole", f"as many of each of {', '.join(names)}", "Complete them."
        )
    words = _linearity(sheet, files)
    sets, controls = _sets(sheet, files, names)
    bench = _bench(sheet)
    found = reduce_haze(sets, bench, sheet.where)
    words += found.warnings
    if not sheet.frames.get("dark"):
        words.append(f"{sheet.where}: no dark frames; black is taken as 0")
    words += _control(sheet, controls, bench)
    below = found.haze_pct < found.detection_pct
    shown = max(found.detection_pct, found.haze_high_pct) if below else found.haze_pct
    if below:
        words.append(
            f"{sheet.where}: haze {found.haze_pct:.2f} % is below the detection limit {found.detection_pct:.2f} %"
        )
    conditions = _conditions(sheet)
    observations = (
        Observation(
            sheet.run, sheet.build, sheet.specimen, ResponseKey("haze_pct", "camera_spot", "", conditions), shown,
            found.haze_uncertainty_pct, Bound.UPPER if below else Bound.EXACT,
        ),
        Observation(
            sheet.run, sheet.build, sheet.specimen, ResponseKey("transmittance_pct", "camera_spot", "", conditions),
            found.transmittance_pct, found.transmittance_uncertainty_pct,
        ),
    )  # fmt: skip
    return Reading(observations, (_haze_numbers(found, bench),), tuple(words))


def _sets(
    sheet: Sheet, files: Mapping[str, bytes], names: Sequence[str]
) -> tuple[list[Frames], list[Frames]]:
    found = _frames(sheet, files, (*names, "dark", "control", "control_spot"))
    dark = _dark(found)

    def light(role: str, place: int) -> Floats:
        return _cut(sheet, np.asarray(light_of(found[role][place]) - dark))

    sets = [Frames(*[light(role, k) for role in names]) for k in range(len(found["open"]))]
    controls = [
        Frames(sets[0].open, light("control", k), sets[0].spot, light("control_spot", k))
        for k in range(min(len(found["control"]), len(found["control_spot"])))
    ]
    return sets, controls


def _linearity(sheet: Sheet, files: Mapping[str, bytes]) -> list[str]:
    pictures = sheet.pictures("linearity", files)
    if not pictures:
        return [f"{sheet.where}: no linearity frames (1 : 2 : 4); the camera is taken at its word"]
    for picture in pictures:
        require_linear(picture, sheet.linear)
    dark = [light_of(each).mean() for each in sheet.pictures("dark", files)]
    black = float(np.mean(dark)) if dark else 0.0
    check_linearity([float(light_of(each).mean()) - black for each in pictures], sheet.exposures, sheet.where)
    return []


def _control(sheet: Sheet, controls: Sequence[Frames], bench: Bench) -> list[str]:
    if not controls:
        return [f"{sheet.where}: no control plate; measure a cast PMMA plate of 3 mm each day"]
    bench = replace(bench, thickness_mm=_CONTROL_MM, index=_CONTROL_INDEX)
    found = reduce_haze(controls, bench, f"{sheet.where}: control plate")
    wanted, most = (
        sheet.number("control_transmittance_pct", _CONTROL_T),
        sheet.number("control_haze_pct", _CONTROL_HAZE),
    )
    off = abs(found.transmittance_pct - wanted) - 2.0 * found.transmittance_uncertainty_pct
    if not (off <= _CONTROL_WITHIN and found.haze_pct - 2.0 * found.haze_uncertainty_pct <= most):
        raise InputError(
            sheet.where,
            f"the control plate reads {found.transmittance_pct:.1f} % and haze {found.haze_pct:.2f} %",
            f"{wanted:g} ± {_CONTROL_WITHIN:g} % and haze up to {most:g} %",
            "Clean the plate, check the frames, and measure again.",
        )
    return []


def _haze_numbers(found: Haze, bench: Bench) -> dict[str, object]:
    return {
        "kind": "haze",
        "haze_pct": found.haze_pct,
        "haze_low_pct": found.haze_low_pct,
        "haze_high_pct": found.haze_high_pct,
        "detection_limit_pct": found.detection_pct,
        "transmittance_pct": found.transmittance_pct,
        "veil_pct": found.veil_pct,
        "sets": found.sets,
        "distance_mm": bench.distance_mm,
        "spot_mm": bench.spot_mm,
        "panel_mm": bench.panel_mm,
        "pupil_deg": bench.pupil_deg,
        "budget_pct": dict(found.shares),
        "picture": picture_of(
            "Haze against the angle off the spot's axis",
            ("angle [°]", "haze [%]"),
            [curve_of("rings", found.rings[:, 0], found.rings[:, 1])],
            says="the value on the axis counts",
        ),
    }


def read_clarity(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    """
    Return the clarity of a sheet of target frames.

    Parameters
    ----------
    sheet : Sheet
        With `target` and `plaque` frames, `distance_mm`, `frequency_per_mm`, `thickness_mm`, `mm_per_px`.
    files : mapping of str to bytes
        Frames by name.

    Returns
    -------
    reading : Reading
        `clarity` with its conditions.

    Raises
    ------
    InputError
        A frame is not fit for photometry or the target is not what is stated.
    """
    found = _frames(sheet, files, ("target", "plaque", "dark"))
    dark = _dark(found)
    frequency, scale = sheet.number("frequency_per_mm"), sheet.number("mm_per_px")
    kind = sheet.words.get("target", "bars")
    if kind not in ("bars", "edge") or not (frequency > 0 and scale > 0):
        raise InputError(
            sheet.where, f"target {kind!r}", "bars or edge, frequency and scale above 0", "Correct it."
        )

    def contrast(picture: Picture) -> float:
        light = _cut(sheet, np.asarray(light_of(picture) - dark))
        if kind == "edge":
            return edge_contrast(light, frequency * scale, picture.name)
        return bar_contrast(light, 1.0 / (frequency * scale), picture.name)

    conditions = Conditions(
        sheet.number("distance_mm"),
        frequency,
        sheet.number("thickness_mm"),
        sheet.words.get("axis", "z"),
        sheet.words.get("surface", "as_printed"),
        sheet.number("distance_uncertainty_mm", 0.2),
    )
    if kind == "bars":
        for picture in found["target"]:
            check_bars(_cut(sheet, light_of(picture)), 1.0 / (frequency * scale), picture.name)
    seen, alone = ([contrast(each) for each in found[role]] for role in ("plaque", "target"))
    clear = reduce_clarity(seen, alone, conditions, sheet.where)
    # a clarity is at most 1 by its meaning; what chance adds above is within its interval, and said
    bound = Bound.LOWER if clear.value > 1.0 else Bound.EXACT
    value = clear.low if clear.value > 1.0 else clear.value
    key = ResponseKey("clarity", f"contrast_{kind}", "", conditions.pairs())
    numbers: dict[str, object] = {
        "kind": "clarity",
        "clarity": clear.value,
        "low": clear.low,
        "high": clear.high,
        "contrast_with": clear.with_plaque,
        "contrast_without": clear.without,
        "conditions": dict(conditions.pairs()),
        "picture": picture_of(
            "Contrast by frame",
            ("frame [1]", "contrast [1]"),
            [
                curve_of("through the plaque", np.arange(len(seen), dtype=float), seen),
                curve_of("target", np.arange(len(alone), dtype=float), alone),
            ],
        ),
    }
    observed = Observation(sheet.run, sheet.build, sheet.specimen, key, value, clear.uncertainty, bound)
    return Reading((observed,), (numbers,), clear.warnings)


def read_colour(sheet: Sheet, files: Mapping[str, bytes]) -> Reading:
    """
    Return yellowness and browning of a sheet of colour frames.

    Parameters
    ----------
    sheet : Sheet
        With `open` and `plaque` frames and `thickness_mm`.
    files : mapping of str to bytes
        Frames by name.

    Returns
    -------
    reading : Reading
        `yellowness`.

    Raises
    ------
    InputError
        A frame is not fit for photometry or has no colours.
    """
    found = _frames(sheet, files, ("open", "plaque", "dark"))
    if any(picture.values.ndim != 3 for role in ("open", "plaque") for picture in found[role]):
        raise InputError(sheet.where, "grey frames", "red, green and blue", "Take colour frames.")
    through, spread = np.zeros(3), np.zeros(3)
    shares: dict[str, list[Floats]] = {"open": [], "plaque": []}
    for channel in range(3):
        dark = _dark(found, channel)
        levels = {
            role: np.array(
                [float(_cut(sheet, light_of(each, channel) - dark).mean()) for each in found[role]]
            )
            for role in ("open", "plaque")
        }
        if not np.all(levels["open"] > 0.02):
            raise InputError(
                sheet.where, "too little light without the plaque", "half of full scale", "Expose longer."
            )
        through[channel] = levels["plaque"].mean() / levels["open"].mean()
        relative = sum(_relative(each) ** 2 for each in levels.values()) ** 0.5
        spread[channel] = through[channel] * relative
        for role, each in levels.items():
            shares[role].append(each / each.mean())
    colour = reduce_colour(
        through,
        spread,
        sheet.number("thickness_mm"),
        sheet.numbers.get("haze_pct"),
        sheet.where,
        _together(through, shares),
    )
    key = ResponseKey("yellowness", "camera_d65_2", "", _conditions(sheet))
    numbers: dict[str, object] = {
        "kind": "colour",
        "yellowness": colour.yellowness,
        "browning_per_mm": colour.browning_per_mm,
        "browning_uncertainty_per_mm": colour.browning_uncertainty,
        "transmittance_rgb": colour.transmittance.tolist(),
        "picture": picture_of(
            "Light through the plaque by colour",
            ("colour [1]", "transmittance [%]"),
            [],
            says=f"Transmittance of red, green and blue: yellowness {colour.yellowness:.3g}.",
            points=[
                points_of(
                    "transmittance", list(100.0 * through), list(100.0 * spread), ("red", "green", "blue")
                )
            ],
        ),
    }
    observed = Observation(sheet.run, sheet.build, sheet.specimen, key, colour.yellowness, colour.uncertainty)
    return Reading((observed,), (numbers,), colour.warnings)


def _together(through: Floats, shares: Mapping[str, Sequence[Floats]]) -> Floats | None:
    """Return the covariance of three transmittances by frames that are repeated, None where one role has one frame."""
    total = np.zeros((3, 3))
    for each in shares.values():
        n = len(each[0])
        if n < 2:
            return None
        total += np.cov(np.array(each)) / n * coverage_factor(n - 1) ** 2
    return np.asarray(total * np.outer(through, through))


def _relative(levels: Floats) -> float:
    """
    Return the relative uncertainty of a mean level, enlarged for few frames.

    One frame has half a per cent (lamp; common practice).
    """
    n = len(levels)
    return float(levels.std(ddof=1) / levels.mean() / np.sqrt(n)) * coverage_factor(n - 1) if n > 1 else 0.005
