"""
Polished sections drawn by area, seen through a blurred lens under uneven light by a camera with faults of its own.

Nothing is shared with the reduction: ellipses are drawn by counting 8 x 8 points a pixel, each void has a grey of its
own, noise is light counted in electrons plus row noise plus a grain that is correlated over pixels, and values are
rounded to 8 bits.
"""

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

SIDE, FINE = 500, 8


@dataclass(frozen=True)
class Section:
    name: str
    share: float
    radius: float
    """Median half-axis. [px]"""
    blur: float = 1.2
    slope: float = 0.25
    grain: float = 0.015
    electrons: float = 6000.0
    void_grey: float = 0.25
    void_scatter: float = 0.02


SECTIONS = (
    Section("0.05 %", 5e-4, 4.0),
    Section("0.3 %", 3e-3, 6.0),
    Section("1 %", 1e-2, 6.0),
    Section("5 %", 5e-2, 10.0),
    Section("5 %, grainy", 5e-2, 9.0, grain=0.03, void_grey=0.35),
)


def draw(section, rng):
    """Return how much of each pixel is void, and the grey that its voids bring."""
    cover, grey = np.zeros((SIDE, SIDE)), np.zeros((SIDE, SIDE))
    wanted = section.share * SIDE**2
    pitch = 50.0
    while cover.sum() < wanted - 0.5 * np.pi * section.radius**2 or cover.sum() == 0:
        a = section.radius * np.exp(rng.normal(0.0, 0.25))
        b = a * rng.uniform(0.5, 1.0)
        turn = rng.uniform(0.0, np.pi)
        row = pitch * rng.integers(1, int(SIDE / pitch)) + rng.normal(0.0, 3.0)
        column = rng.uniform(2 * a + 4, SIDE - 2 * a - 4)
        reach = int(np.ceil(a)) + 2
        top, left = int(row) - reach, int(column) - reach
        if top < 4 or top + 2 * reach > SIDE - 4:
            continue
        offsets = (np.arange(2 * reach * FINE) + 0.5) / FINE
        y, x = np.meshgrid(top + offsets - row, left + offsets - column, indexing="ij")
        u, v = x * np.cos(turn) + y * np.sin(turn), -x * np.sin(turn) + y * np.cos(turn)
        inside = (
            ((u / a) ** 2 + (v / b) ** 2 <= 1.0).reshape(2 * reach, FINE, 2 * reach, FINE).mean(axis=(1, 3))
        )
        place = np.s_[top : top + 2 * reach, left : left + 2 * reach]
        if np.any((cover[place] > 0) & (inside > 0)):
            continue
        cover[place] += inside
        grey[place] += inside * (section.void_grey + rng.normal(0.0, section.void_scatter))
    return cover, grey


def light(section, rng):
    """Return even solid under lamps that fall off. [share of full scale]"""
    y, x = np.mgrid[0:SIDE, 0:SIDE] / SIDE - 0.5
    tilt = rng.uniform(-1, 1, 2)
    return 0.65 * (1.0 + section.slope * (tilt[0] * x + tilt[1] * y) - section.slope * (x**2 + y**2))


def scene(section, seed):
    """Return the picture without noise, and the true share of voids."""
    rng = np.random.default_rng(seed)
    cover, grey = (
        draw(section, rng) if section.share > 0 else (np.zeros((SIDE, SIDE)), np.zeros((SIDE, SIDE)))
    )
    clean = light(section, rng) * ndimage.gaussian_filter(1.0 - cover + grey, section.blur, mode="reflect")
    return clean, float(cover.mean())


def exposed(clean, section, rng):
    """Return one exposure: grain of the surface, electrons, rows, 8 bits. [0 to 1]"""
    grain = ndimage.gaussian_filter(rng.standard_normal(clean.shape), 1.0) * 2 * np.sqrt(np.pi)
    seen = clean * (1.0 + section.grain * grain)
    seen = rng.poisson(np.maximum(seen, 0.0) * section.electrons) / section.electrons
    seen = seen + 0.002 * rng.standard_normal((clean.shape[0], 1))
    return np.round(np.minimum(np.maximum(seen, 0.0), 1.0) * 255) / 255
