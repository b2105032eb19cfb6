"""Effects by a classical mixed model on the same data, beside the learned surface."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voidless.infer.compare import adjusted_holm
from voidless.infer.confounding import Confounding
from voidless.infer.learned import CampaignModel
from voidless.infer.linear import estimable
from voidless.infer.mixed import MixedFit, fit_mixed
from voidless.infer.response import ResponseTable
from voidless.infer.table import TrainingData
from voidless.infer.terms import Term, factorial_terms, model_matrix, quadratic_terms, term_name

__all__ = ["Classical", "ClassicalRow", "classical_effects"]

Floats = NDArray[np.float64]

# A model grows (main effects, then interactions, then squares) only while this many builds per term are left.
_BUILDS_PER_TERM = 1.5
_MOST_INFLATION = 10.0
"""Of a variance, up to which interactions and squares are estimated. [1] Common practice, no source."""
_CROWDED = "Builds lie too close together to tell interactions from the rest."


@dataclass(frozen=True)
class ClassicalRow:
    """
    One term: change of the response from the factor's low to its high end (main effects and interactions).

    Attributes
    ----------
    value, low, high : float or None
        Effect and 95 % interval; None where it is not claimed. [unit of the response]
    p : float or None
        Probability of an effect as large by chance. [1]
    status : str
        `estimated`, `confounded` or `not estimable`.
    """

    term: str
    value: float | None
    low: float | None
    high: float | None
    t: float | None
    freedom: float | None
    p: float | None
    status: str


@dataclass(frozen=True)
class Classical:
    """
    Rows of effects, drift per unit of nuisance, and variance components. [unit of the response squared]

    `session_p` is the probability that sessions differ so much by chance, effects and drift taken out; None: untested.
    """

    model: str
    rows: tuple[ClassicalRow, ...]
    drift: tuple[ClassicalRow, ...]
    components: dict[str, float]
    note: str
    session_p: float | None = None

    def stands(self, *factors: str) -> bool | None:
        """Return whether a term with just these factors stands among all of them (Holm, 5 %); None if untested."""
        own = [
            stood
            for row, stood in self._tested()
            if {part.rstrip("²³") for part in row.term.split(" × ")} == set(factors)
        ]
        return any(own) if own else None

    def claims(self) -> bool:
        """Return whether any effect stands among all of them (Holm, 5 %)."""
        return any(stood for _, stood in self._tested())

    def _tested(self) -> list[tuple[ClassicalRow, bool]]:
        tested = [row for row in self.rows if row.p is not None]
        adjusted = adjusted_holm([row.p for row in tested if row.p is not None])
        return [(row, bool(p < 0.05)) for row, p in zip(tested, adjusted, strict=True)]

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for JSON."""
        return {
            "model": self.model,
            "effects": [vars(row) for row in self.rows],
            "drift": [vars(row) for row in self.drift],
            "variance_components": self.components,
            "note": self.note,
        }


def classical_effects(
    model: CampaignModel, data: TrainingData, table: ResponseTable, confounded: tuple[Confounding, ...]
) -> Classical:
    """
    Return classical effects of one response.

    Parameters
    ----------
    model : CampaignModel
        For its space and nuisance columns.
    data : TrainingData
        Builds behind the table.
    table : ResponseTable
        Data; censored rows are left out, which biases effects towards 0, and the note says so.
    confounded : tuple of Confounding
        Pairs for which nothing is claimed.

    Notes
    -----
    Build means, weighed by nothing: with the design's repeats nearly even, means carry all that is known of
    effects, and their residual is the between-build scatter. Sessions are a random effect.
    """
    exact = table.sides == 0
    rows = table.rows[exact]
    values = table.values[exact]
    points = model.space.points([data.builds[row].settings for row in rows])
    coded = {
        name: 2.0 * column - 1.0
        for name, column in zip(model.space.names, model.space.to_unit(points).T, strict=True)
    }
    nuisance = {
        name: (np.array([getattr(data.builds[row], name) or 0.0 for row in rows], dtype=float))
        for name in model.nuisance.names
    }
    moving = [name for name, column in coded.items() if float(np.ptp(column)) > 0.0]
    kind, terms, crowded = _terms(moving, coded, len(rows), len(nuisance))
    left_out = (
        f"{int(np.sum(~exact))} values that are only bounds are left out here." if not np.all(exact) else ""
    )
    note = " ".join(filter(None, (left_out, _CROWDED if crowded else "")))
    if len(rows) < len(terms) + len(nuisance) + 2:
        builds = "1 build is" if len(rows) == 1 else f"{len(rows)} builds are"
        what = f"{len(model.space.names)} factor" + ("s" if len(model.space.names) > 1 else "")
        return Classical("none", (), (), {}, f"{builds} too few for {what}. {note}".strip())
    matrix = np.column_stack([model_matrix(coded, terms), *[c - c.mean() for c in nuisance.values()]])
    kept = estimable(matrix)
    sessions = model.nuisance.sessions[rows]
    groups = {"session": sessions} if 1 < np.unique(sessions).size < len(rows) else {}
    fit = fit_mixed(matrix[:, kept], values, groups)
    names = [term_name(term) for term in terms] + list(nuisance)
    blocked = {item.factor for item in confounded} | {item.other for item in confounded}
    factors: list[tuple[str, ...]] = [*terms, *((name,) for name in nuisance)]
    table_rows = _rows(fit, names, factors, kept, blocked, len(terms))
    chance = _session_chance(matrix[:, kept], values, sessions)
    return Classical(
        kind, table_rows[1 : len(terms)], table_rows[len(terms) :], dict(fit.components), note, chance
    )


def _session_chance(matrix: Floats, values: Floats, sessions: NDArray[np.int64]) -> float | None:
    """Return the probability by F that sessions differ so much by chance beside what a model says; None: untestable."""
    from scipy.stats import f

    more = np.column_stack([matrix, sessions[:, None] == np.unique(sessions)[None, 1:]])
    ranks = [int(np.linalg.matrix_rank(part)) for part in (matrix, more)]
    spare = len(values) - ranks[1]
    if ranks[1] == ranks[0] or spare < 2:
        return None
    left = [
        float(np.sum((values - part @ np.linalg.lstsq(part, values, rcond=None)[0]) ** 2))
        for part in (matrix, more)
    ]
    if left[1] <= 0.0:
        return None
    ratio = (left[0] - left[1]) / (ranks[1] - ranks[0]) / (left[1] / spare)
    return float(f.sf(ratio, ranks[1] - ranks[0], spare))


def _terms(
    names: list[str], coded: Mapping[str, Floats], builds: int, nuisance: int
) -> tuple[str, tuple[Term, ...], bool]:
    """Return the largest of the usual models that the builds carry, and whether only crowding forbade a larger one."""
    choices = (
        ("main effects, interactions and squares", quadratic_terms(names)),
        ("main effects and interactions", factorial_terms(names, 2)),
    )
    crowded = False
    for kind, terms in choices:
        if builds >= _BUILDS_PER_TERM * (len(terms) + nuisance):
            matrix = model_matrix(coded, terms)
            if _inflation(matrix[:, estimable(matrix)]) <= _MOST_INFLATION:
                return kind, terms, False
            crowded = True
    return "main effects", factorial_terms(names, 1), crowded


def _inflation(matrix: Floats) -> float:
    """Return by how much terms that go along with others widen the worst variance; the first column is constant. [1]"""
    centred = matrix[:, 1:] - matrix[:, 1:].mean(axis=0)
    length = np.linalg.norm(centred, axis=0)
    if matrix.shape[0] <= matrix.shape[1] or np.any(length == 0.0):
        return np.inf
    return float(np.max(np.diag(np.linalg.pinv((centred / length).T @ (centred / length)))))


def _rows(
    fit: MixedFit,
    names: list[str],
    factors: list[tuple[str, ...]],
    kept: NDArray[np.bool_],
    blocked: set[str],
    effects: int,
) -> tuple[ClassicalRow, ...]:
    low, high = fit.interval()
    place = np.cumsum(kept) - 1
    found = []
    for column, (name, term) in enumerate(zip(names, factors, strict=True)):
        if not kept[column]:
            found.append(ClassicalRow(name, None, None, None, None, None, None, "not estimable"))
        elif blocked & set(term):
            found.append(ClassicalRow(name, None, None, None, None, None, None, "confounded"))
        else:
            i = int(place[column])
            scale = 2.0 if 0 < column < effects else 1.0
            found.append(
                ClassicalRow(
                    name,
                    scale * float(fit.coefficients[i]),
                    scale * float(low[i]),
                    scale * float(high[i]),
                    float(fit.t[i]),
                    float(fit.freedom[i]),
                    float(fit.p[i]),
                    "estimated",
                )
            )
    return tuple(found)


def drift_sentences(drifts: Mapping[str, Sequence[ClassicalRow]]) -> list[str]:
    """
    Return what drifts, in words, all tests of all responses held to 5 % together.

    Parameters
    ----------
    drifts : mapping of str to sequence of ClassicalRow
        Drift rows by response.

    Notes
    -----
    By `compare.adjusted_holm`.
    """
    tested = [(name, row) for name, rows in drifts.items() for row in rows if row.p is not None]
    adjusted = adjusted_holm([row.p for _, row in tested if row.p is not None])
    found = []
    for place in np.argsort(adjusted, kind="stable"):
        (name, row), p = tested[int(place)], float(adjusted[place])
        if not p < 0.05:
            break
        what, per = _DRIFTS[row.term]
        found.append(
            f"{name} drifts with {what}: {row.value:+.3g} {per} (95 % {row.low:.3g} to {row.high:.3g}, "
            f"p {p:.2g} among {len(tested)} tests)."
        )
    return found


_DRIFTS = {
    "order": ("run order", "per build"),
    "exposure_h": ("exposure", "per hour of exposure"),
    "humidity_pct": ("humidity", "per % of humidity"),
    "water_pct": ("water in the filament", "per % of water"),
}
