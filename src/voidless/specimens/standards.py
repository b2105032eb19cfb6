"""Dimensions of the tensile bars of the standards, as data."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TENSILE_BARS", "TensileBar"]


@dataclass(frozen=True)
class TensileBar:
    """
    A tensile bar with enlarged ends.

    Attributes
    ----------
    standard : str
        Standard and type.
    length : float
        Overall length; where the standard gives a minimum, that. [mm]
    parallel : float
        Length of the narrow parallel part. [mm]
    narrow, wide : float
        Width of the narrow part and of the ends. [mm]
    thickness : float
        Preferred thickness; where the standard gives a minimum, that. [mm]
    gauge : float
        Gauge length. [mm]
    grips : float
        Distance between the grips. [mm]
    radius : float
        Radius of the fillet. [mm]
    outer_radius : float
        Radius at the end of the fillet, 0 where there is none. [mm]
    source : str
        Where the numbers were read.
    """

    standard: str
    length: float
    parallel: float
    narrow: float
    wide: float
    thickness: float
    gauge: float
    grips: float
    radius: float
    outer_radius: float = 0.0
    source: str = ""


_ISO = (
    "Public reference page after an older edition of ISO 527-2 (lengths, widths, thickness, gauge, grips); "
    "1A gauge of 75 mm after the 2012 edition; radii from memory."
)
_BA = (
    _ISO + " Radius so that the parallel parts of the ends stand 58 mm (1BA) or 23 mm (1BB) apart; the "
    "standard asks 30 (12) mm or more."
)
_ASTM = "Public reference page that reproduces the table of ASTM D638; thickness partly from memory."

# Radius of 1BA and 1BB: (t² + d²) / (2 d) with t = (l2 - l1) / 2 and d = (b2 - b1) / 2.
TENSILE_BARS: dict[str, TensileBar] = {
    "iso527_1a": TensileBar("ISO 527-2 1A", 170.0, 80.0, 10.0, 20.0, 4.0, 75.0, 115.0, 24.0, source=_ISO),
    "iso527_1b": TensileBar("ISO 527-2 1B", 150.0, 60.0, 10.0, 20.0, 4.0, 50.0, 115.0, 60.0, source=_ISO),
    "iso527_1ba": TensileBar("ISO 527-2 1BA", 75.0, 30.0, 5.0, 10.0, 2.0, 25.0, 60.0, 40.45, source=_BA),
    "iso527_1bb": TensileBar("ISO 527-2 1BB", 30.0, 12.0, 2.0, 4.0, 2.0, 10.0, 24.0, 15.625, source=_BA),
    "iso527_5a": TensileBar("ISO 527-2 5A", 75.0, 25.0, 4.0, 12.5, 2.0, 20.0, 50.0, 8.0, 12.5, source=_ISO),
    "iso527_5b": TensileBar("ISO 527-2 5B", 35.0, 12.0, 2.0, 6.0, 1.0, 10.0, 20.0, 3.0, 3.0, source=_ISO),
    "d638_i": TensileBar("ASTM D638 I", 165.0, 57.0, 13.0, 19.0, 3.2, 50.0, 115.0, 76.0, source=_ASTM),
    "d638_ii": TensileBar("ASTM D638 II", 183.0, 57.0, 6.0, 19.0, 3.2, 50.0, 135.0, 76.0, source=_ASTM),
    "d638_iii": TensileBar("ASTM D638 III", 246.0, 57.0, 19.0, 29.0, 7.0, 50.0, 115.0, 76.0, source=_ASTM),
    "d638_iv": TensileBar("ASTM D638 IV", 115.0, 33.0, 6.0, 19.0, 3.2, 25.0, 64.0, 14.0, 25.0, source=_ASTM),
    "d638_v": TensileBar("ASTM D638 V", 63.5, 9.53, 3.18, 9.53, 3.2, 7.62, 25.4, 12.7, source=_ASTM),
}
