"""One weighed piece to its density and void share, with what a person should know of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from voidless.campaign.types import Bound, Observation, ResponseKey
from voidless.measure.picture import picture_of, points_of, rule_of
from voidless.measure.weighing.budget import (
    DETECTION,
    VoidShare,
    immersion_density,
    void_share,
    void_share_weighed,
)
from voidless.measure.weighing.density import Density, Weighing
from voidless.measure.weighing.pieces import RESOLUTION, Piece

__all__ = ["IMMERSION", "SATURATED", "reduce_piece"]

IMMERSION, SATURATED = "immersion", "immersion_saturated"
"""Methods: closed voids alone; open pores too, by the mass after the bath."""
_OPEN = 3.0
"""Standard uncertainties of a gain in the bath from which open pores are named. [1]"""

Reduced = tuple[dict[str, object], list[Observation], list[str]]


def reduce_piece(piece: Piece, references: Sequence[Piece]) -> Reduced:
    """
    Return what a row gives.

    Parameters
    ----------
    piece : Piece
        The row.
    references : sequence of Piece
        Void-free pieces of the table.

    Returns
    -------
    reduced : (dict, list of Observation, list of str)
        Plain numbers, results, warnings; of a reference piece its numbers alone.

    Raises
    ------
    InputError
        The masses are impossible.
    """
    numbers: dict[str, object] = {
        "run": piece.run,
        "build": piece.build,
        "specimen": piece.specimen,
        "kind": "weighing",
        "role": "reference" if piece.reference else "piece",
    }
    found: list[Observation] = []
    words: list[str] = []

    def observe(
        quantity: str, method: str, value: float, uncertainty: float, bound: Bound = Bound.EXACT
    ) -> None:
        key = ResponseKey(quantity, method)
        labels = (piece.run, piece.build, piece.specimen)
        found.append(
            Observation(
                *labels,
                key,
                value,
                uncertainty,
                bound,
                order=piece.order,
                session=piece.session,
                extra=piece.extra,
            )
        )

    if piece.mass_g is not None:
        numbers["mass_g"] = piece.mass_g
        observe("mass_g", "weighed", piece.mass_g, piece.mass_step_g * RESOLUTION)
    if piece.weighing is not None:
        density = immersion_density(piece.weighing, piece.where)
        numbers |= {
            "uncertainty_from": piece.uncertainty_from,
            "density_g_cm3": density.value_g_cm3,
            "density_uncertainty_g_cm3": density.uncertainty_g_cm3,
        }
        observe("density_g_cm3", IMMERSION, density.value_g_cm3, density.uncertainty_g_cm3)
        share, basis, why = _share(piece, piece.weighing, references)
        numbers["picture"] = _picture(piece, density, references, share)
        soaked = _soaked(piece, piece.weighing)
        if soaked is not None:
            words.append(_open_pores(piece, piece.weighing))
        if share is not None and not piece.reference:
            numbers |= _numbers(share, basis)
            words += [*why, *_findings(piece, share)]
            bound = Bound.LOWER if soaked is not None else Bound.EXACT
            observe("void_pct", IMMERSION, share.value_pct, share.uncertainty_pct, bound)
            if soaked is not None:
                whole, _, _ = _share(piece, soaked, references)
                if whole is not None:
                    numbers["void_saturated_pct"] = whole.value_pct
                    observe("void_pct", SATURATED, whole.value_pct, whole.uncertainty_pct)
    return numbers, ([] if piece.reference else found), words


def _picture(
    piece: Piece, density: Density, references: Sequence[Piece], share: VoidShare | None
) -> dict[str, object]:
    """Return a picture of the piece's density beside those of the void-free material that it is held against."""
    kin = [each for each in references if each.spool == piece.spool and each is not piece]
    solids = [immersion_density(each.weighing, each.where) for each in kin if each.weighing is not None]
    if not kin and piece.stated is not None:
        solids = [piece.stated]
    each = [density, *solids]
    own = piece.specimen or piece.where
    labels = (
        [own, *(item.specimen or "reference" for item in kin)] if kin else [own, *["stated"] * len(solids)]
    )
    says = f"Density of {own}: {density.value_g_cm3:.4f} ± {density.uncertainty_g_cm3:.2g} g/cm³"
    rules = []
    if solids:
        solid = sum(item.value_g_cm3 for item in solids) / len(solids)
        rules.append(rule_of("no void", solid, "y"))
        says += f", of void-free material {solid:.4f} g/cm³"
    if share is not None:
        most = max(share.shares, key=lambda item: abs(item.effect))
        says += (
            f": void share {share.value_pct:.3g} ± {share.uncertainty_pct:.2g} %, most doubt from {most.name}"
        )
    return picture_of(
        f"{own}: density by immersion",
        ("piece [1]", "density [g/cm³]"),
        [],
        rules=rules,
        says=f"{says}.",
        points=[
            points_of(
                "density",
                [item.value_g_cm3 for item in each],
                [item.uncertainty_g_cm3 for item in each],
                labels,
            )
        ],
    )


def _share(
    piece: Piece, weighing: Weighing, references: Sequence[Piece]
) -> tuple[VoidShare | None, str, list[str]]:
    """Return the void share against reference pieces of the same spool, else against a stated density."""
    kin = [each for each in references if each.spool == piece.spool]
    if not kin:
        if piece.stated is None:
            return None, "", []
        density = immersion_density(weighing, piece.where)
        return void_share(density, piece.stated, piece.where), "stated", []
    same = [each for each in kin if each.history == piece.history]
    words = []
    if not same:
        words.append(
            f"{piece.where}: the reference has another thermal history; a polymer that crystallises is then "
            "lighter or denser without a void"
        )
    chosen = same or kin
    one_bath = all(each.bath == piece.bath for each in chosen)
    solids = [each.weighing for each in chosen if each.weighing is not None]
    share = void_share_weighed(weighing, solids, piece.where, one_bath)
    if len(solids) == 1:
        words.append(f"{piece.where}: one reference piece shows no scatter; weigh three or more")
    return share, "weighed in the same bath" if one_bath else "weighed in another bath", words


def _numbers(share: VoidShare, basis: str) -> dict[str, object]:
    return {
        "void_pct": share.value_pct,
        "void_uncertainty_pct": share.uncertainty_pct,
        "detection_limit_pct": share.detection_pct,
        "reference": basis,
        "budget_pct": {each.name: each.effect for each in share.shares},
        **{f"doubt from {each.name} [%]": abs(each.effect) for each in share.shares},
    }


def _findings(piece: Piece, share: VoidShare) -> list[str]:
    value, limit = share.value_pct, share.detection_pct
    if value < -limit:
        why = "the reference is lighter than this piece (another lot, fewer crystals, or voids in it)"
        return [
            f"{piece.where}: void share {value:.3g} % is more than {DETECTION:g} standard uncertainties below 0: {why}"
        ]
    if value < limit:
        return [f"{piece.where}: void share {value:.3g} % is below the detection limit of {limit:.2g} %"]
    return []


def _gain_uncertainty(weighing: Weighing) -> float:
    return sqrt(2.0) * weighing.mass_air_uncertainty_g


def _soaked(piece: Piece, weighing: Weighing) -> Weighing | None:
    """Return the weighing as if the water in open pores were part of the outside volume."""
    gain, spread = piece.gain_g, _gain_uncertainty(weighing)
    if gain is None or not gain > _OPEN * spread:
        return None
    wet = sqrt(weighing.mass_water_uncertainty_g**2 + spread**2)
    return replace(weighing, mass_water_g=weighing.mass_water_g - gain, mass_water_uncertainty_g=wet)


def _open_pores(piece: Piece, weighing: Weighing) -> str:
    share = 100.0 * (piece.gain_g or 0.0) / (weighing.mass_air_g - weighing.mass_water_g)
    return (
        f"{piece.where}: the piece took up {piece.gain_g:.3g} g in the bath, {share:.2g} % of its volume: open "
        "pores (or a polymer that drinks); the closed share alone is a lower limit"
    )
