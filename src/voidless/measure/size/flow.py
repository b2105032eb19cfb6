"""Weighed mass against the volume that a toolpath was to feed: the true flow."""

from __future__ import annotations

import math

from voidless.errors import InputError

__all__ = ["check_flow", "true_flow"]

PLAUSIBLE_PCT = (20.0, 300.0)


def true_flow(
    mass_g: float,
    mass_uncertainty_g: float,
    volume_mm3: float,
    density_g_cm3: float,
    density_uncertainty_g_cm3: float,
) -> tuple[float, float]:
    """
    Return what was fed in per cent of what the toolpath says.

    Parameters
    ----------
    mass_g, mass_uncertainty_g : float
        Of everything that was fed while the toolpath ran: part, purge and strings. [g]
    volume_mm3 : float
        Of solid filament by the toolpath. [mm³]
    density_g_cm3, density_uncertainty_g_cm3 : float
        Of the void-free solid. [g/cm³]

    Returns
    -------
    flow : (float, float)
        Flow and its standard uncertainty. [%]

    Raises
    ------
    InputError
        A mass, volume or density is not positive.
    """
    if not (mass_g > 0 and volume_mm3 > 0 and density_g_cm3 > 0):
        raise InputError(
            "true flow", f"{mass_g:g} g over {volume_mm3:g} mm³", "values above 0", "Correct them."
        )
    flow = 100.0 * mass_g / (density_g_cm3 * volume_mm3 * 1e-3)
    check_flow(flow)
    return flow, flow * math.hypot(mass_uncertainty_g / mass_g, density_uncertainty_g_cm3 / density_g_cm3)


def check_flow(flow_pct: float) -> None:
    """
    Pass a true flow that a machine can have.

    Parameters
    ----------
    flow_pct : float
        What was fed over what was commanded. [%]

    Raises
    ------
    InputError
        It is outside 20 to 300 % (our choice): a unit has slipped.
    """
    low, high = PLAUSIBLE_PCT
    if not low <= flow_pct <= high:
        raise InputError(
            "true flow",
            f"{flow_pct:.4g} % of what was commanded",
            f"{low:g} to {high:g} %",
            "Check mass in g, volume in mm³ and density in g/cm³.",
        )
