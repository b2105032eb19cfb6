"""A value with as many digits as its uncertainty allows."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, ROUND_UP, Decimal

from voidless.errors import InputError

__all__ = ["as_shown", "rounded"]

_PLAIN = 3
"""Powers of ten up to which plain decimals are shown. [1]"""


def rounded(value: float, uncertainty: float, digits: int = 2) -> tuple[str, str]:
    """
    Return a value and its uncertainty as text, rounded to the same place.

    Parameters
    ----------
    value : float
        [any unit]
    uncertainty : float
        Above 0. [same unit]
    digits : int
        Significant digits of the uncertainty. [1]

    Returns
    -------
    text : (str, str)
        The uncertainty rounded up when what is cut off is over a twentieth of it, else to the nearest (GUM 7.2.6 asks
        for at most two digits and common sense; the twentieth is our choice). Plain decimals, no exponents.

    Raises
    ------
    InputError
        The uncertainty is not positive and finite, or the value is not finite.

    Examples
    --------
    >>> rounded(38.2371, 0.3149)
    ('38.24', '0.31')
    >>> rounded(1269.135, 114.3)
    ('1270', '110')
    """
    given, unsure = Decimal(repr(float(value))), Decimal(repr(float(uncertainty)))
    if not (given.is_finite() and unsure.is_finite() and unsure > 0):
        raise InputError(
            "rounding", f"{value} ± {uncertainty}", "a finite value and an uncertainty above 0", "Check."
        )
    place = Decimal(1).scaleb(unsure.adjusted() - digits + 1)
    near = (unsure / place).quantize(Decimal(1), ROUND_HALF_EVEN) * place
    if near < unsure and unsure - near > unsure / 20:
        near = (unsure / place).quantize(Decimal(1), ROUND_UP) * place
    if near.adjusted() > unsure.adjusted():  # 0.996 became 1.0
        place = place.scaleb(1)
    whole = (given / place).quantize(Decimal(1), ROUND_HALF_EVEN) * place
    if place >= 1:
        return f"{int(whole)}", f"{int(near)}"
    decimals = -int(place.adjusted())
    return f"{whole:.{decimals}f}", f"{near:.{decimals}f}"


def as_shown(value: float, uncertainty: float | None) -> tuple[str, str]:
    """
    Return a result as people read it: as many digits as its uncertainty allows, a power of ten where it is long.

    Parameters
    ----------
    value : float
        [any unit]
    uncertainty : float or None
        None or 0 where it is not known: six digits are shown then, and no uncertainty. [same unit]

    Returns
    -------
    text : (str, str)
        Value and uncertainty.

    Examples
    --------
    >>> as_shown(1.99099, 0.0176)
    ('1.991', '0.018')
    >>> as_shown(2.0038e-6, 4.31e-8)
    ('2.004e-6', '0.043e-6')
    >>> as_shown(12.5, None)
    ('12.5', '')
    """
    if not uncertainty or not (math.isfinite(value) and math.isfinite(uncertainty)):
        return f"{value:.6g}", ""
    size = math.floor(math.log10(max(abs(value), uncertainty)))
    if -_PLAIN <= size <= _PLAIN + 1:
        return rounded(value, uncertainty)
    scale = 10.0**-size
    return tuple(f"{text}e{size}" for text in rounded(value * scale, uncertainty * scale))  # type: ignore[return-value]
