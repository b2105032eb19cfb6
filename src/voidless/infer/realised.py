"""What the other responses of a build tell of the settings it really had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from voidless.infer.assemble import Draft
from voidless.infer.evidence import left_out

__all__ = ["Realised", "Witness", "realised", "witness"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Realised:
    """
    Settings that builds had less those commanded, in standard deviations of the settings.

    Attributes
    ----------
    mean : (b, s) float array
        Most probable, per build and factor that scatters. [1]
    covariance : (b, s, s) float array
        What is left unknown; the unit matrix where nothing is told. [1]
    """

    mean: Floats
    covariance: Floats


@dataclass(frozen=True)
class Witness:
    """
    What one response says of each build: how far it is from what the other builds foretell.

    Attributes
    ----------
    builds : (n,) int array
        Codes of the builds.
    residual, variance : (n,) float array
        Observed less foretold, settings as commanded, and its variance without the settings' scatter. [1]
    slopes : (n, s) float array
        Change per standard deviation of every setting that scatters. [1]
    """

    builds: NDArray[np.int64]
    residual: Floats
    variance: Floats
    slopes: Floats


def witness(item: Draft, slopes: Floats, taken: Floats, added: Floats) -> Witness:
    """
    Return what a fitted draft says of its builds, each foretold by the others.

    Parameters
    ----------
    item : Draft
        Fitted draft.
    slopes : (n, s) float array
        Change per standard deviation of every setting that scatters. [1]
    taken, added : (n,) float array
        What was taken off the targets for realised settings, and the variance of what is left of them. [1]
    """
    residual, spread, _ = left_out(item.rows, item.scales)
    exact = np.flatnonzero(item.sides == 0)
    _, first = np.unique(item.rows.builds[exact], return_index=True)
    kept = exact[first]
    # slopes are known to a third or so themselves
    variance = np.maximum(spread**2 - added, 0.05 * spread**2) + 0.1 * np.sum(slopes**2, axis=1)
    return Witness(item.rows.builds[kept], (residual + taken)[kept], variance[kept], slopes[kept])


def realised(builds: int, factors: int, witnesses: Sequence[Witness]) -> Realised:
    """
    Return the settings of all builds as responses tell them.

    Notes
    -----
    Linear and normal: each response moves with its slope times the deviation of the settings, which is standard
    normal before any response is seen.
    """
    precision = np.tile(np.eye(factors), (builds, 1, 1))
    product = np.zeros((builds, factors))
    for item in witnesses:
        scaled = item.slopes / item.variance[:, None]
        np.add.at(precision, item.builds, scaled[:, :, None] * item.slopes[:, None, :])
        np.add.at(product, item.builds, scaled * item.residual[:, None])
    covariance = np.linalg.inv(precision)
    return Realised(np.asarray(np.einsum("bst,bt->bs", covariance, product)), np.asarray(covariance))
