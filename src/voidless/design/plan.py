"""The one entry to experiment plans: from a request to runs in print order."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from voidless.design.aliases import alias_notes
from voidless.design.criteria import evaluate, smallest_distance
from voidless.design.factorial import fractional_factorial, full_factorial, plackett_burman
from voidless.design.filling import space_filling, start
from voidless.design.ground import Ground, ground, sample
from voidless.design.ladder import ladder
from voidless.design.limits import excess, move_inside, trim
from voidless.design.optimal import block_covariance, optimal
from voidless.design.order import print_order
from voidless.design.screening import definitive_screening
from voidless.design.surface import box_behnken, central_composite
from voidless.design.types import Design, Draft, Floats, PlanRequest, Size, Slot
from voidless.errors import InputError
from voidless.quantities import suggest

__all__ = ["DESIGNS", "Design", "DesignKind", "PlanRequest", "Slot", "make_plan"]

Ints = NDArray[np.int64]
Builder = Callable[[Ground, Size, np.random.Generator], Draft]
REBUILDS = 6
POOR_VIF = 10.0
"""Variance inflation above which terms count as nearly mixed (common practice, no source)."""
POOR_ALIAS = 0.05
"""Share of an interaction in a main effect from which on it is said: one in twenty, a choice."""


@dataclass(frozen=True)
class DesignKind:
    """
    One row of the table of designs.

    Attributes
    ----------
    title, good_for, cannot : str
        For people: what it is, what it is good for, what it cannot show.
    build : callable or None
        Builder; None for the two that need the model as well (see `_builder`).
    aliased : bool
        Whether notes say which terms cannot be told apart.
    resizes : bool
        Whether a smaller plan is made anew rather than cut.
    completes : bool
        Whether builds printed earlier are taken into account.
    """

    title: str
    good_for: str
    cannot: str
    build: Builder | None = None
    aliased: bool = True
    resizes: bool = False
    completes: bool = False


DESIGNS: dict[str, DesignKind] = {
    "start": DesignKind(
        "A few space-filling builds and repeats of the usual settings",
        "the beginning of every campaign; `next` chooses the rest",
        "effects one by one",
        start,
        aliased=False,
        resizes=True,
        completes=True,
    ),
    "ladder": DesignKind(
        "One factor at a time",
        "a first look by eye",
        "interactions; a reliable best setting",
        ladder,
        aliased=False,
    ),
    "full-factorial": DesignKind(
        "All combinations of two levels",
        "up to four factors with interactions",
        "which factor bends",
        full_factorial,
        resizes=True,
    ),
    "fractional-factorial": DesignKind(
        "A regular part of all combinations of two levels",
        "main effects and some interactions of many factors",
        "interactions that it mixes with each other; which factor bends",
        fractional_factorial,
        resizes=True,
    ),
    "plackett-burman": DesignKind(
        "Main effects in a multiple of four builds",
        "finding the few factors that matter among many",
        "interactions, which leak into main effects; curvature",
        plackett_burman,
        resizes=True,
    ),
    "definitive-screening": DesignKind(
        "Three levels in about twice as many builds as factors",
        "main effects clear of interactions, and curvature",
        "more than a few interactions",
        definitive_screening,
    ),
    "central-composite": DesignKind(
        "Corners, faces and centre",
        "a full quadratic close to good settings",
        "wide regions",
        central_composite,
        resizes=True,
    ),
    "box-behnken": DesignKind(
        "Edges and centre",
        "a full quadratic where corners cannot be printed",
        "what happens at corners",
        box_behnken,
    ),
    "space-filling": DesignKind(
        "Points spread evenly over what is allowed",
        "surrogate models of any shape",
        "effects one by one",
        space_filling,
        aliased=False,
        resizes=True,
        completes=True,
    ),
    "d-optimal": DesignKind(
        "Sharpest coefficients of a quadratic under any limits",
        "effects and interactions in odd regions, with hard-to-change factors, sessions, earlier builds",
        "anything that a quadratic does not hold",
        resizes=True,
        completes=True,
    ),
    "i-optimal": DesignKind(
        "Sharpest predictions of a quadratic under any limits",
        "a response surface close to good settings, with hard-to-change factors, sessions, earlier builds",
        "anything that a quadratic does not hold",
        resizes=True,
        completes=True,
    ),
}


def make_plan(request: PlanRequest, rng: np.random.Generator) -> Design:
    """
    Return a plan that keeps to limits and budget, in random print order.

    Parameters
    ----------
    request : PlanRequest
        What is wanted.
    rng : numpy.random.Generator
        Source of all randomness: the same seed gives the same plan.

    Returns
    -------
    design : Design
        Runs, order and everything that a person should know about them.

    Raises
    ------
    InputError
        The design is not known, numbers make no sense, nothing is within the limits, or the budget does
        not hold one build.
    """
    kind = _checked(request)
    base = ground(request, rng)
    size = _size(request)
    draft, dropped = _affordable(kind, base, request, size, rng)
    if not len(draft.rows):
        raise InputError(
            "limits", "the budget holds not one build", "a larger budget", "Raise hours or grams."
        )
    order, session, plot = print_order(base, draft, request.sessions, rng)
    days, session = np.unique(session, return_inverse=True)
    session = session.reshape(-1) + 1
    points, first, run = np.unique(draft.rows[order], axis=0, return_index=True, return_inverse=True)
    rank = np.argsort(np.argsort(first))  # number runs as they first come in print order
    slots = tuple(Slot(int(rank[one]), int(day)) for one, day in zip(run.reshape(-1), session, strict=True))
    criteria = _criteria(base, request, draft, order, session, plot, rng)
    notes = (*base.notes, *_size_note(request, len(days)), *draft.notes, *_quality(kind, criteria))
    if len(base.earlier) and not kind.completes:
        notes += (
            f"{len(base.earlier)} earlier builds are not taken into account: d-optimal completes them.",
        )
    if kind.aliased:
        both = base.coded(np.concatenate([base.earlier, draft.rows]))
        notes += alias_notes(both, base.names, draft.terms)
    return Design(
        name=request.name,
        points=points[np.argsort(first)],
        order=slots,
        terms=draft.terms,
        notes=notes,
        criteria=criteria,
        dropped=dropped,
        whole_plots=tuple(int(one) for one in plot) if base.hard.any() else (),
    )


def _criteria(
    base: Ground,
    request: PlanRequest,
    draft: Draft,
    order: Ints,
    session: Ints,
    plot: Ints,
    rng: np.random.Generator,
) -> dict[str, float]:
    """Judge the plan together with the builds printed earlier, which count as a session of their own."""
    before = len(base.earlier)
    coded = base.coded(np.concatenate([base.earlier, draft.rows[order]]))
    covariance = block_covariance(
        np.concatenate([np.zeros(before, dtype=int), session]),
        np.concatenate([-1 - np.arange(before), plot]),
        request.variance_ratio,
        bool(base.hard.any()),
    )
    region = base.coded(sample(base, 1000, rng))
    found = dict(evaluate(coded, base.names, draft.terms, covariance, region))
    return found | {"smallest_distance": smallest_distance(coded)}


def _quality(kind: DesignKind, criteria: Mapping[str, float]) -> tuple[str, ...]:
    """Say of the finished rows how far effects are mixed, whatever the design was made to be."""
    notes: tuple[str, ...] = ()
    inflated, carried = criteria.get("max_vif", 1.0), criteria.get("max_alias", 0.0)
    if inflated > POOR_VIF:
        said = (
            f"Some effects are nearly mixed: the variance of the worst is {inflated:.0f} times what it would "
            "be alone. d-optimal finds a better plan within the same limits."
        )
        notes += (said,)
    if kind.aliased and carried > POOR_ALIAS:
        said = (
            f"As the builds stand, a main effect carries up to {carried:.2g} times an interaction that the "
            "model leaves out."
        )
        notes += (said,)
    return notes


def _checked(request: PlanRequest) -> DesignKind:
    kind = DESIGNS.get(request.name)
    if kind is None:
        known = tuple(DESIGNS)
        raise InputError(
            "design",
            f"{request.name!r} is not a design",
            "one of " + ", ".join(known),
            suggest(request.name, known),
        )
    for name, value, least in (
        ("runs", request.runs, 1),
        ("repeats", request.repeats, 0),
        ("sessions", request.sessions, 1),
        ("limits.builds", request.builds_limit, 1),
        ("limits.hours", request.hours_limit, 1e-9),
        ("limits.grams", request.grams_limit, 1e-9),
        ("variance_ratio", request.variance_ratio, 0),
    ):
        if value is not None and not value >= least:
            raise InputError(name, f"{name} = {value:g}", f"at least {least:g}", "Correct the number.")
    if not np.isfinite(request.variance_ratio):
        raise InputError("variance_ratio", "variance_ratio = inf", "a finite number", "Correct the number.")
    if (request.hours_limit is not None or request.grams_limit is not None) and request.cost is None:
        raise InputError(
            "limits", "hours or grams are limited but the cost of a build is not known", "a cost function"
        )
    return kind


def _size(request: PlanRequest) -> Size:
    asked, most = request.runs, request.builds_limit
    if asked is not None and most is not None:
        asked = min(asked, most)
    return Size(asked, most, request.repeats, request.sessions)


def _size_note(request: PlanRequest, sessions: int) -> tuple[str, ...]:
    asked, most = request.runs, request.builds_limit
    notes: tuple[str, ...] = ()
    if asked is not None and most is not None and asked > most:
        notes += (f"{asked} builds were asked for, the campaign's limit is {most}.",)
    if sessions < request.sessions:
        notes += (f"{request.sessions} sessions were asked for; the builds fill {sessions}.",)
    return notes


def _builder(kind: DesignKind, request: PlanRequest) -> Builder:
    if kind.build is not None:
        return kind.build
    return partial(optimal, criterion=request.name[0], model=request.model, ratio=request.variance_ratio)


def _affordable(
    kind: DesignKind, base: Ground, request: PlanRequest, size: Size, rng: np.random.Generator
) -> tuple[Draft, Floats]:
    """Build within the limits; over budget make a smaller plan where the design can, else cut rows."""
    build = _builder(kind, request)
    draft = move_inside(base, build(base, size, rng))
    full = len(draft.rows)
    for _ in range(REBUILDS if kind.resizes else 0):
        ratio, name, _ = excess(request, draft.rows, size.room)
        count = min(int(len(draft.rows) / ratio), len(draft.rows) - 1) if ratio > 1.0 else 0
        if count < 1:
            break
        smaller = replace(size, asked=count if size.asked is not None else None, most=count)
        again = move_inside(base, build(base, smaller, rng))
        if len(again.rows) >= len(draft.rows):
            break
        note = f"The budget of {name} holds no {full} builds: the plan was made anew with {len(again.rows)}."
        draft = replace(again, notes=(*again.notes, note))
    return trim(base, request, draft, size.room)
