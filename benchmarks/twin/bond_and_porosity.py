"""
Report and draw how the twin does on the 39 ABS builds of the bond-and-porosity data.

    python benchmarks/twin/bond_and_porosity.py [PICTURE.svg]

Runs the same fits as tests/published/test_physics_bond_and_porosity.py and prints what is reached.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from scipy.stats import t as student

sys.path.insert(0, str(Path(__file__).parents[2] / "tests" / "published"))
import test_physics_bond_and_porosity as builds

MEASURED = np.column_stack([builds.VOIDS, builds.BOND])
NAMES = ("void share", "contact over layer thickness")


def drawn(count: int, left_out: frozenset[str] = frozenset()) -> np.ndarray:
    """Return both responses of all builds for parameters drawn from their priors, (count, 39, 2)."""
    rng = np.random.default_rng(5)
    sd = {p.name: builds.prior_sd(p, builds.ABS, builds.MACHINE) for p in builds.PARAMETERS}
    columns = builds._columns(builds.NOZZLE, builds.SPEED)
    draws = []
    for _ in range(count):
        theta = {name: s * rng.standard_normal() * (name not in left_out) for name, s in sd.items()}
        fill = builds.run_chain(columns, builds.GROUND, builds.CONTEXT, theta).fill
        draws.append(np.column_stack([fill.gaps, fill.contact_beads]))
    return np.array(draws)


def unfitted() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return mean, low and high of the 95 % bands before any data, (39, 2)."""
    draws = drawn(1000)
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    return np.mean(draws, axis=0), low, high


def widths() -> None:
    """Print which priors make the bands before any data: shares of variance, each alone, and widths without it."""
    everyone = frozenset(p.name for p in builds.PARAMETERS)
    whole = drawn(300).var(axis=0).mean(axis=0)
    for name in sorted(everyone):
        share = drawn(120, everyone - {name}).var(axis=0).mean(axis=0) / whole
        if share.max() > 0.02:
            low, high = np.quantile(drawn(200, frozenset([name])), [0.025, 0.975], axis=0)
            print(
                f"  {name}: alone {share.round(2)} of the variance; without it width {np.mean(high - low, axis=0)}"
            )


def linear_after(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the same as `builds.after_builds` for plain linear fits to the same builds, with bands by Student's t."""
    terms = np.column_stack([np.ones(39), builds.NOZZLE, builds.SPEED])
    inside, width = [], []
    for rows, others in builds.starts(count):
        constants = np.linalg.lstsq(terms[rows], MEASURED[rows])[0]
        left = np.sum((MEASURED[rows] - terms[rows] @ constants) ** 2, axis=0) / (count - 3)
        spread = np.linalg.inv(terms[rows].T @ terms[rows])
        of_place = 1.0 + np.einsum("ni,ij,nj->n", terms[others], spread, terms[others])
        half = student.ppf(0.975, count - 3) * np.sqrt(of_place[:, None] * left)
        inside.append(np.mean(np.abs(terms[others] @ constants - MEASURED[others]) <= half, axis=0))
        width.append(np.mean(2.0 * half, axis=0) / (4.0 * builds.LINEAR))
    return np.array(inside), np.array(width)


def few() -> None:
    """Print how bands narrow with the builds that were read."""
    for count in (1, 2, 3, 4, 6):
        inside, width = builds.after_builds(count)
        print(
            f"after {count} builds: inside {inside.mean(axis=0).round(2)}, least {inside.min(axis=0).round(2)};"
            f" width over four linear residuals {width.mean(axis=0).round(2)}, most {width.max(axis=0).round(2)}"
        )
        if count > 3:
            inside, width = linear_after(count)
            print(
                f"  linear: inside {inside.mean(axis=0).round(2)}, width {np.median(width, axis=0).round(1)} (median)"
            )


def report() -> tuple[np.ndarray, np.ndarray]:
    """Print what is reached; return errors and half-widths of bands of settings left out."""
    mean, low, high = unfitted()
    centre = builds._run(builds.NOZZLE, builds.SPEED)
    theta, covariance = builds._fit(np.arange(39))
    fitted = builds._run(builds.NOZZLE, builds.SPEED, theta)
    errors, halves = builds.left_out.__wrapped__()
    print("before any data: centre", builds._rms(centre - MEASURED), "mean", builds._rms(mean - MEASURED))
    print(
        "  bands hold",
        np.mean((low <= MEASURED) & (high >= MEASURED), axis=0),
        "width",
        np.mean(high - low, axis=0),
    )
    widths()
    few()
    print("three constants", dict(zip(builds.FITTED, theta, strict=True)), "se", np.sqrt(np.diag(covariance)))
    print("  fitted", builds._rms(fitted - MEASURED))
    print("setting left out", builds._rms(errors))
    print("  bands hold", np.mean(np.abs(errors) <= halves, axis=0), "width", np.mean(2 * halves, axis=0))
    print("  four linear residuals", 4 * builds.LINEAR)
    return errors, halves


def draw(errors: np.ndarray, halves: np.ndarray, path: Path) -> None:
    """Draw predicted against measured, each setting left out in turn."""
    import matplotlib as mpl

    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "voidless"
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(1, 2, figsize=(8.6, 4.2), layout="constrained")
    for k, axis in enumerate(axes):
        x, y = MEASURED[:, k], MEASURED[:, k] + errors[:, k]
        axis.errorbar(x, y, yerr=halves[:, k], fmt="none", ecolor="0.8", lw=1, zorder=1)
        dots = axis.scatter(x, y, c=builds.SPEED, cmap="viridis", s=22, zorder=2)
        edges = [min(x.min(), y.min()), max(x.max(), y.max())]
        axis.plot(edges, edges, color="0.3", lw=1)
        axis.set_xlabel(f"measured {NAMES[k]}")
        axis.set_ylabel(f"predicted {NAMES[k]}")
    figure.colorbar(dots, ax=axes, label="bead speed (mm/s)")
    figure.suptitle(
        "39 ABS builds, each setting left out in turn: three constants for both responses, 95 % bands"
    )
    figure.savefig(path, metadata={"Date": None})


if __name__ == "__main__":
    found = report()
    if len(sys.argv) > 1:
        draw(*found, Path(sys.argv[1]))
