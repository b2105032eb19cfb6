"""What a dryer fed with room air can reach, and how slowly air gets into a winding."""

from __future__ import annotations

from dataclasses import dataclass

from voidless.errors import InputError
from voidless.physics.moisture.spool import dryer_humidity, pack_diffusivity

__all__ = ["WindingPace", "heated_humidity", "winding_pace"]

_ZERO = 273.15


def heated_humidity(room_c: float, room_humidity_pct: float, heated_c: float, where: str = "dryer") -> float:
    """
    Return the relative humidity of room air once it is heated and nothing dries it.

    Parameters
    ----------
    room_c, room_humidity_pct : float
        Air of the room. [°C], [%]
    heated_c : float
        Inside the dryer. [°C]
    where : str
        Place that an error names.

    Returns
    -------
    humidity : float
        What filament in such a dryer comes to rest with; it is not zero. [%]

    Raises
    ------
    InputError
        The humidity lies outside 0 to 100 % or a temperature outside 0 to 373 °C.

    Notes
    -----
    The water's pressure stays, its saturation pressure rises (IAPWS-IF97).

    Examples
    --------
    >>> round(heated_humidity(23.0, 50.0, 65.0), 1)
    5.6
    """
    if not 0.0 <= room_humidity_pct <= 100.0:
        raise InputError(where, f"a humidity of {room_humidity_pct:g} %", "0 to 100 %", "Correct it.")
    return 100.0 * float(dryer_humidity(room_c + _ZERO, 0.01 * room_humidity_pct, heated_c + _ZERO))


@dataclass(frozen=True)
class WindingPace:
    """
    How slowly a wound spool drinks, beside one free strand.

    Attributes
    ----------
    strand_h, winding_h : float
        Times of diffusion into a strand and down the winding, radius or depth squared over diffusivity. [h]
    depth_in_a_day_mm : float
        How deep a change of humidity has come after 24 h, one length of diffusion. [mm]
    """

    strand_h: float
    winding_h: float
    depth_in_a_day_mm: float


def winding_pace(
    depth_mm: float,
    diameter_mm: float,
    diffusivity: float,
    saturation: float,
    density_g_cm3: float,
    gaps: float = 0.15,
    temperature_c: float = 23.0,
) -> WindingPace:
    """
    Return how slowly a winding of some depth exchanges water, beside one free strand.

    Parameters
    ----------
    depth_mm : float
        From the outside to the core. [mm]
    diameter_mm : float
        Of the filament. [mm]
    diffusivity : float
        Of water in the filament. [m²/s]
    saturation : float
        Water at saturation, as mass share. [1]
    density_g_cm3 : float
        Of the filament. [g/cm³]
    gaps : float
        Share of air between the strands: 0.09 closest, 0.21 strand upon strand. [1]
    temperature_c : float
        Of the spool. [°C]

    Returns
    -------
    pace : WindingPace
        An estimate to a factor of two.

    Raises
    ------
    InputError
        A value is not positive, or the gaps are no share.

    Notes
    -----
    Vapour diffuses through the gaps while strands in equilibrium with it hold it back: `pack_diffusivity` with the
    water of the strands in a volume of winding, (1-ε) of what they hold, and a tortuosity of ε^-0.5 (Bruggeman, from
    memory).
    Flanges are taken as tight.
    """
    values = (depth_mm, diameter_mm, diffusivity, saturation, density_g_cm3)
    if not all(value > 0 for value in values) or not 0 < gaps < 1:
        raise InputError(
            "winding_pace", f"values {values}, gaps {gaps:g}", "above 0, gaps below 1", "Correct them."
        )
    held = (1.0 - gaps) * saturation * density_g_cm3 * 1e3
    pace = float(pack_diffusivity(temperature_c + _ZERO, held, gaps, gaps**-0.5))
    strand = (0.5e-3 * diameter_mm) ** 2 / diffusivity / 3600.0
    return WindingPace(strand, (1e-3 * depth_mm) ** 2 / pace / 3600.0, 1e3 * (pace * 86400.0) ** 0.5)
