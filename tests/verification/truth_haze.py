"""
Plaques traced ray by ray, and a camera with faults of its own, for haze.

Nothing is shared with the reduction. Light passes a slab with one rough face, to the camera or to the panel, and
scattering inside, with Fresnel reflection at every meeting with a face. Truth: a collimated beam, the share that leaves
forward beyond 2.5°. Frames: rays from the camera's pupil backwards through the slab to a panel that ends and carries a
spot. The camera adds 1.5 % of veil, counts electrons, has pixels of unequal gain, and its lamp wanders and flickers.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

RNG_TRACE = 20_240_611


@dataclass(frozen=True)
class Plaque:
    name: str
    slope_deg: float
    """Root mean square slope of the rough face per axis. [°]"""
    path_mm: float
    """Mean free path inside. [mm]"""
    g: float
    index: float = 1.57
    thickness_mm: float = 3.0
    rough_far: bool = False
    """Whether the rough face looks to the panel and not to the camera."""


PLAQUES = (
    Plaque("nearly clear", 0.3, 900.0, 0.85),
    Plaque("1 %", 0.8, 250.0, 0.85),
    Plaque("3 %", 1.0, 90.0, 0.9),
    Plaque("10 %", 1.8, 40.0, 0.9),
    Plaque("10 %, turned", 1.8, 40.0, 0.9, rough_far=True),
    Plaque("10 %, inside", 0.0, 28.0, 0.93),
    Plaque("30 %", 2.2, 12.0, 0.9),
    Plaque("30 %, turned", 2.2, 12.0, 0.9, rough_far=True),
    Plaque("60 %", 4.5, 12.0, 0.9),
)


def _unit(v):
    return v / np.linalg.norm(v, axis=1, keepdims=True)


def _normals(n, slope, rng):
    tilt = np.tan(np.radians(slope)) * rng.standard_normal((n, 2))
    return _unit(np.column_stack([tilt, np.ones(n)]))


def _meet(d, normal, n1, n2, rng):
    """Return directions after a face and whether each passed, by Fresnel's chance for unpolarised light."""
    cos1 = np.sum(d * normal, axis=1)
    normal = np.where(cos1[:, None] < 0, -normal, normal)
    cos1 = np.abs(cos1)
    ratio = n1 / n2
    sin2 = ratio**2 * (1 - cos1**2)
    cos2 = np.sqrt(np.maximum(1 - sin2, 0.0))
    rs = ((n1 * cos1 - n2 * cos2) / (n1 * cos1 + n2 * cos2)) ** 2
    rp = ((n2 * cos1 - n1 * cos2) / (n2 * cos1 + n1 * cos2)) ** 2
    reflect = np.where(sin2 >= 1.0, 1.0, 0.5 * (rs + rp))
    passed = rng.random(len(d)) >= reflect
    through = ratio * d + (cos2 - ratio * cos1)[:, None] * normal
    back = d - 2 * cos1[:, None] * normal
    return _unit(np.where(passed[:, None], through, back)), passed


def _scattered(d, g, rng):
    u = rng.random(len(d))
    cos = (1 + g**2 - ((1 - g**2) / (1 - g + 2 * g * u)) ** 2) / (2 * g)
    sin, turn = np.sqrt(np.maximum(1 - cos**2, 0.0)), 2 * np.pi * rng.random(len(d))
    helper = np.where(np.abs(d[:, 2:3]) < 0.9, [[0.0, 0.0, 1.0]], [[1.0, 0.0, 0.0]])
    e1 = _unit(np.cross(helper, d))
    e2 = np.cross(d, e1)
    return _unit(cos[:, None] * d + sin[:, None] * (np.cos(turn)[:, None] * e1 + np.sin(turn)[:, None] * e2))


def trace(plaque, count, pupil_deg, rng):
    """Return where rays leave the far face and in which direction; they enter the near face at (0, 0). [mm]"""

    def normals(n, far):
        return _normals(n, plaque.slope_deg if far == plaque.rough_far else 0.0, rng)

    angle = np.radians(pupil_deg) * np.sqrt(rng.random(count))
    turn = 2 * np.pi * rng.random(count)
    d = np.column_stack([np.sin(angle) * np.cos(turn), np.sin(angle) * np.sin(turn), np.cos(angle)])
    d, alive = _meet(d, normals(count, False), 1.0, plaque.index, rng)
    d, p = d[alive], np.zeros((int(alive.sum()), 3))
    out_p, out_d = [], []
    for _ in range(200):
        if len(d) == 0:
            break
        step = rng.exponential(plaque.path_mm, len(d))
        face = np.where(d[:, 2] > 0, plaque.thickness_mm - p[:, 2], -p[:, 2])
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = np.where(d[:, 2] != 0, face / d[:, 2], np.inf)
        inside = step < reach
        p = p + np.minimum(step, reach)[:, None] * d
        if inside.any():
            d[inside] = _scattered(d[inside], plaque.g, rng)
        gone = np.zeros(len(d), dtype=bool)
        for far in (True, False):
            here = ~inside & ((d[:, 2] > 0) == far)
            turned, passed = _meet(d[here], normals(int(here.sum()), far), plaque.index, 1.0, rng)
            where = np.flatnonzero(here)
            if far:
                out_p.append(p[where[passed]])
                out_d.append(turned[passed])
            gone[where[passed]] = True
            d[where] = turned
        # a facet can turn light back to the face it leaves; it is then put at the face again
        p[:, 2] = np.clip(p[:, 2], 0.0, plaque.thickness_mm)
        keep = ~gone
        p, d = p[keep], d[keep]
    return np.vstack(out_p), np.vstack(out_d)


@lru_cache(maxsize=16)
def truth(plaque, count):
    """Return haze and total transmittance of a collimated beam. [1]"""
    _, d = trace(plaque, count, 0.0, np.random.default_rng(RNG_TRACE + 1))
    return float((d[:, 2] < np.cos(np.radians(2.5))).mean()), len(d) / count


ANGLES = np.linspace(0.0, 0.7, 15)


@lru_cache(maxsize=1)
def _traced(plaque, count, pupil_deg):
    return trace(plaque, count, pupil_deg, np.random.default_rng(RNG_TRACE))


def seen(plaque, count, pupil_deg, distance_mm, spot_mm, panel_mm):
    """Return light through the plaque without spot, and with it by angle off its axis. [share of the panel's]"""
    p, d = _traced(plaque, count, pupil_deg)
    forward = d[:, 2] > 1e-6
    hit = p[forward, :2] + d[forward, :2] / d[forward, 2:3] * distance_mm
    hit = hit[(np.abs(hit) < panel_mm / 2).all(axis=1)]
    lit, radius = len(hit), spot_mm / 2
    shifts = distance_mm * np.tan(np.radians(ANGLES))
    hit = hit[np.abs(hit).max(axis=1) < radius + shifts[-1]]
    dark = [np.count_nonzero((hit[:, 0] - shift) ** 2 + hit[:, 1] ** 2 < radius**2) for shift in shifts]
    return lit / count, (lit - np.array(dark)) / count


@dataclass(frozen=True)
class Camera:
    side: int = 320
    radius: float = 110.0
    veil: float = 0.015
    electrons: float = 8 * 40_000.0
    """At full scale, of eight frames averaged."""
    wander: float = 0.004
    flicker: float = 0.001
    gain: float = 0.01
    bits: int = 14
    level: float = 0.6


def still(plaque, camera, count, pupil_deg, distance_mm, spot_mm, panel_mm):
    """Return the four frames without noise, and pixels' angle from the axis. [share of full scale]"""
    rows, columns = np.mgrid[0 : camera.side, 0 : camera.side] - (camera.side - 1) / 2
    off = np.hypot(rows, columns)
    true_half = np.degrees(np.arctan(spot_mm / 2 / distance_mm))
    angle = np.degrees(np.arctan(off / camera.radius * np.tan(np.radians(true_half))))
    total, by_angle = seen(plaque, count, pupil_deg, distance_mm, spot_mm, panel_mm)
    open_ = np.ones_like(off)
    spot = (off > camera.radius).astype(float)
    through = np.full_like(off, total)
    masked = np.interp(angle, ANGLES, by_angle)
    masked = np.where(angle > ANGLES[-1], np.maximum(masked, total * spot), masked)
    frames = [open_, through, spot, masked]
    # the spot is small in the whole field, so the veil is that of the lit field
    return [
        camera.level * (frame + camera.veil * lit)
        for frame, lit in zip(frames, (1, total, 1, total), strict=True)
    ]


def shots(frames, camera, sets, rng):
    """Return sets of four noisy frames; noise is drawn about the axis alone, where it matters."""
    half = int(0.25 * camera.radius)
    mid = camera.side // 2
    box = np.s_[mid - half : mid + half, mid - half : mid + half]
    gain = 1.0 + camera.gain * rng.standard_normal((2 * half, 2 * half))
    phase, pace = rng.uniform(0, 2 * np.pi), rng.uniform(0.05, 0.4)
    found, time = [], 0
    for _ in range(sets):
        made = []
        for frame in frames:
            lamp = 1.0 + camera.wander * np.sin(phase + pace * time) + camera.flicker * rng.standard_normal()
            time += 1
            light = frame * lamp
            counts = rng.poisson(light[box] * gain * camera.electrons) + rng.normal(0, 6.0, light[box].shape)
            light[box] = np.round(counts / camera.electrons * 2**camera.bits) / 2**camera.bits
            made.append(light)
        found.append(made)
    return found
