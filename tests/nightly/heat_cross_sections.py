"""
Weld healing of beads in cross-section, by brute force: the truth that the heat history is judged by.

    python tests/nightly/heat_cross_sections.py [CELLS] > tests/data/heat-cross-sections/weld_integrals.csv

Five beads by five layers, rectangles that touch; a bead is laid over its whole length at once, conduction along
the beads left out (a section is passed within milliseconds; measured effect on integrals 0.15 %). Explicit
finite volumes, CELLS x CELLS per bead (16 unless given), integrals by the trapezoidal rule, mean over the face.
Materials are invented, picked so that healing lands between 0.3 and 1.
"""

import sys

import numba
import numpy as np

GAS = 8.314462618
BEADS, LAYERS = 5, 5

# name: law, conductivity, heat per volume, layer m, width m, laid C, bed C, air C, W/(m2 K), gap s, layer time s
SCENARIOS = {
    "slow-bar": ("arrhenius", 0.15, 1.5e6, 0.12e-3, 0.48e-3, 205.0, 50.0, 25.0, 20.0, 1.6, 33.6),
    "small": ("arrhenius", 0.15, 1.5e6, 0.12e-3, 0.48e-3, 200.0, 50.0, 25.0, 20.0, 0.2, 4.2),
    "warm-bed": ("wlf", 0.17, 2.1e6, 0.20e-3, 0.48e-3, 240.0, 95.0, 50.0, 20.0, 0.4, 16.0),
    "thick-fan": ("arrhenius", 0.15, 1.5e6, 0.30e-3, 0.60e-3, 205.0, 50.0, 25.0, 80.0, 0.6, 20.0),
    "quick-turn": ("arrhenius", 0.15, 1.5e6, 0.20e-3, 0.45e-3, 195.0, 45.0, 25.0, 40.0, 0.4, 12.0),
}


def log_rate(law, warm):
    """Natural logarithm of one over the weld time; temperature in kelvin. Invented constants."""
    if law == "arrhenius":
        return -(np.log(0.1) + 90e3 / GAS * (1.0 / warm - 1.0 / 453.15))
    above = warm - 473.15
    return -(np.log(0.2) - np.log(10.0) * 5.8 * above / (210.0 + above))


STOP = {"arrhenius": 60.0 + 273.15, "wlf": 105.0 + 273.15}


@numba.njit(cache=True)
def _section(n, alpha, dy, dz, air, bed_speed, warm, bed, gap, period, after, dt, stop, table, table_step):
    ny, nz = BEADS * n, LAYERS * n
    t = np.zeros((nz, ny))
    new = np.zeros((nz, ny))
    on = np.zeros((LAYERS, BEADS), dtype=np.bool_)
    through, beside = np.zeros((LAYERS, BEADS)), np.zeros((LAYERS, BEADS))
    total = int(((LAYERS - 1) * period + BEADS * gap + after) / dt)
    loss_y = air / dy / (1.0 + air * dy / (2.0 * alpha))
    loss_z = air / dz / (1.0 + air * dz / (2.0 * alpha))
    ky, kz = alpha / dy**2, alpha / dz**2
    every = 4
    for step in range(total):
        time = step * dt
        layer = min(int(time / period + 1e-9), LAYERS - 1)
        bead = min(int((time - layer * period) / gap + 1e-9), BEADS - 1)
        if not on[layer, bead]:
            on[layer, bead] = True
            for i in range(layer * n, (layer + 1) * n):
                for j in range(bead * n, (bead + 1) * n):
                    t[i, j] = warm
        high = (layer + 1) * n
        for i in range(high):
            k = i // n
            for j in range(ny):
                b = j // n
                if not on[k, b]:
                    continue
                own = t[i, j]
                gain = 0.0
                if j > 0 and on[k, (j - 1) // n]:
                    gain += ky * (t[i, j - 1] - own)
                else:
                    gain -= loss_y * own
                if j < ny - 1 and on[k, (j + 1) // n]:
                    gain += ky * (t[i, j + 1] - own)
                else:
                    gain -= loss_y * own
                if i > 0:
                    gain += kz * (t[i - 1, j] - own)
                else:
                    gain += bed_speed / dz / (1.0 + bed_speed * dz / (2.0 * alpha)) * (bed - own)
                if i < nz - 1 and on[(i + 1) // n, b]:
                    gain += kz * (t[i + 1, j] - own)
                else:
                    gain -= loss_z * own
                new[i, j] = own + dt * gain
        t, new = new, t
        if step % every == 0:
            for k in range(layer + 1):
                for b in range(BEADS):
                    if not on[k, b]:
                        continue
                    if k > 0:
                        for j in range(b * n, (b + 1) * n):
                            face = 0.5 * (t[k * n, j] + t[k * n - 1, j])
                            if face > stop:
                                through[k, b] += table[int((face - stop) / table_step)] * dt * every / n
                    if b > 0:
                        for i in range(k * n, (k + 1) * n):
                            face = 0.5 * (t[i, b * n] + t[i, b * n - 1])
                            if face > stop:
                                beside[k, b] += table[int((face - stop) / table_step)] * dt * every / n
    return through, beside


def section(name, n, after=20.0):
    """Return healing integrals through layers and beside, each (layers, beads)."""
    law, k, rho_c, h, w, warm, bed, air, coefficient, gap, period = SCENARIOS[name]
    alpha = k / rho_c
    dy, dz = w / n, h / n
    dt = 0.4 / (alpha * (1.0 / dy**2 + 1.0 / dz**2)) / 1.05
    dt = gap / np.ceil(gap / dt)
    stop = STOP[law] - (air + 273.15)
    step = 0.01
    table = np.exp(log_rate(law, STOP[law] + step * (np.arange(40_000) + 0.5)))
    return _section(
        n,
        alpha,
        dy,
        dz,
        coefficient / rho_c,
        1e4 / rho_c,
        warm - air,
        bed - air,
        gap,
        period,
        after,
        dt,
        stop,
        table,
        step,
    )


if __name__ == "__main__":
    cells = int(sys.argv[1]) if len(sys.argv) > 1 else 16
    print("scenario,cells,layer,bead,through,beside")
    for name in SCENARIOS:
        through, beside = section(name, cells)
        for layer in range(LAYERS):
            for bead in range(BEADS):
                print(
                    f"{name},{cells},{layer},{bead},{through[layer, bead]:.6g},{beside[layer, bead]:.6g}",
                    flush=True,
                )
