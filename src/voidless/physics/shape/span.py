"""What hangs: sag of a bridge and of an overhanging edge. Coarse."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from voidless.physics.guards import require_not_negative, require_positive
from voidless.physics.melt.viscosity import arrhenius_factor

__all__ = ["bridge_sag", "edge_rounding", "overhang_limit", "soft_fluidity"]

Floats = NDArray[np.float64]

_STEPS = 24
_GRAVITY = 9.80665  # [m/s²] standard, exact by definition (CGPM 1901)


def soft_fluidity(
    start: ArrayLike,
    stop: ArrayLike,
    air: ArrayLike,
    time_constant: ArrayLike,
    viscosity: ArrayLike,
    reference: float,
    activation: float,
) -> Floats:
    """
    Return the time integral of one over viscosity while a strand cools to where it is firm.

    Parameters
    ----------
    start : (n,) float array
        Temperature as laid. [K]
    stop : (n,) float array
        Temperature at which it is firm. [K]
    air : (n,) float array
        Temperature of the air, below `stop`. [K]
    time_constant : (n,) float array
        Of the strand's cooling: ρ c × section/(h × perimeter). [s]
    viscosity : (n,) float array
        At rest, at `reference`. [Pa·s]
    reference : float
        [K]
    activation : float
        Of flow. [J/mol]

    Returns
    -------
    fluidity : (n,) float array
        ∫ dt/η; a stress times it is a strain. [1/Pa]

    Raises
    ------
    InputError
        A value is not positive, or the air is not below `stop`, or `stop` not below `start`.

    Notes
    -----
    Lumped cooling, dt = -τ dT/(T - T_air), midpoint rule in temperature. Near the glass transition Arrhenius
    makes the melt too thin, where little is left of the integral.
    """
    hot, firm, cold = (np.asarray(value, dtype=float) for value in (start, stop, air))
    require_positive("soft_fluidity", above_firm=hot - firm, above_air=firm - cold)
    require_positive("soft_fluidity", time_constant=time_constant, viscosity=viscosity)
    total = np.zeros(np.broadcast_shapes(hot.shape, firm.shape, cold.shape, np.shape(viscosity)))
    for step in range(_STEPS):
        warm = firm + (hot - firm) * (step + 0.5) / _STEPS
        thick = np.asarray(viscosity) * arrhenius_factor(warm, reference, activation)
        total = total + np.asarray(time_constant) / (warm - cold) / thick
    return np.asarray(total * (hot - firm) / _STEPS)


def bridge_sag(span: ArrayLike, density: ArrayLike, fluidity: ArrayLike) -> Floats:
    """
    Return how far a strand sags that is laid over a gap.

    Parameters
    ----------
    span : (n,) float array
        Width of the gap. [m]
    density : (n,) float array
        [kg/m³]
    fluidity : (n,) float array
        From `soft_fluidity`. [1/Pa]

    Returns
    -------
    sag : (n,) float array
        (3 ρ g L⁴ F/128)^⅓, whatever the strand's section. [m]

    Raises
    ------
    InputError
        `span` or `density` is not positive, or `fluidity` is negative.

    Notes
    -----
    Derived here: a viscous string pinned at both ends, tension ρ g A L²/(8 δ) against 3 η A times the rate of
    the strain 8 δ²/(3 L²), so δ² dδ/dt = ρ g L⁴/(128 η). Small sag; the drag of the nozzle, the melt's
    elasticity and neighbours laid before are left out.
    """
    require_positive("bridge_sag", span=span, density=density)
    require_not_negative("bridge_sag", fluidity=fluidity)
    pull = 3.0 * np.asarray(density, dtype=float) * _GRAVITY * np.asarray(span, dtype=float) ** 4
    return np.asarray(np.cbrt(pull * np.asarray(fluidity) / 128.0))


def edge_rounding(surface_tension: ArrayLike, fluidity: ArrayLike) -> Floats:
    """
    Return the radius to which surface tension rounds a sharp edge while it is soft.

    Parameters
    ----------
    surface_tension : (n,) float array
        Of the melt. [N/m]
    fluidity : (n,) float array
        ∫ dt/η, from `soft_fluidity`. [1/Pa]

    Returns
    -------
    radius : (n,) float array
        Γ F. [m]

    Raises
    ------
    InputError
        A value is negative.

    Notes
    -----
    By dimension: a sharp edge has no length of its own, so the radius is Γ ∫ dt/η times a number of the edge's
    angle that is taken as 1. An order of magnitude.
    """
    require_not_negative("edge_rounding", surface_tension=surface_tension, fluidity=fluidity)
    return np.asarray(np.asarray(surface_tension, dtype=float) * np.asarray(fluidity))


def overhang_limit(layer: ArrayLike, width: ArrayLike, droop: ArrayLike) -> Floats:
    """
    Return the steepest overhang whose outer bead still rests on the layer below.

    Parameters
    ----------
    layer : (n,) float array
        Layer thickness. [m]
    width : (n,) float array
        Bead width. [m]
    droop : (n,) float array
        How much of the bead's edge gives way, from `edge_rounding`. [m]

    Returns
    -------
    angle : (n,) float array
        From the vertical: atan of half a bead, less the droop, over the layer thickness. [rad]

    Raises
    ------
    InputError
        A length is not positive or `droop` is negative.

    Notes
    -----
    Coarse, this project's own rule: a bead holds while its middle lies on the layer below. Warping, curl and
    the part's own heat are left out.
    """
    require_positive("overhang_limit", layer=layer, width=width)
    require_not_negative("overhang_limit", droop=droop)
    half = 0.5 * np.asarray(width, dtype=float)
    # a droop beyond half the bead leaves no overhang; the form below tends to 0 without a corner
    held = half / (1.0 + np.asarray(droop) / half)
    return np.asarray(np.arctan2(held, np.asarray(layer, dtype=float)))
