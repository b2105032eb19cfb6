"""Truths against which every interval and bound of `proof` and `infer` is simulated; used short and at length."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from voidless.infer.compare import compare_ratios
from voidless.infer.mixed import fit_mixed
from voidless.infer.ratio import strength_ratio
from voidless.proof.between import part_bound, scatter_intervals
from voidless.proof.capability import capability
from voidless.proof.equivalence import equivalence, paired_ratio, sample_of
from voidless.proof.tolerance import one_sided_factor, rank_bound, two_sided_factor
from voidless.proof.weibull import weibull_bound

RATE = 0.95


@dataclass(frozen=True)
class Truth:
    """One simulated case: a name, and a function that returns whether the interval held, and its relative width."""

    name: str
    once: Callable[[np.random.Generator], tuple[bool, float]]


def builds(rng, count, parts, ratio, mean=50.0):
    """Return values of parts, build by build: scatter 1 within and `ratio` between; `parts` may be a sequence."""
    sizes = np.broadcast_to(parts, (count,))
    return [(mean + ratio * rng.normal() + rng.normal(size=int(size))).tolist() for size in sizes]


def fieller(n, cv, pooled):
    def once(rng):
        z, x = 25.0 * (1.0 + cv * rng.normal(size=n)), 50.0 * (1.0 + cv * rng.normal(size=n))
        if pooled:
            x = 50.0 + 25.0 * cv * rng.normal(size=n)
        found = strength_ratio(z, x, pooled=pooled)
        known = 2 * 1.96 * 0.5 * cv * np.sqrt((1.25 if pooled else 2.0) / n)
        return found.low <= 0.5 <= found.high, (found.high - found.low) / known

    return Truth(
        f"ratio, Fieller {'pooled' if pooled else 'own variances'}, {n} and {n}, scatter {cv:.0%}", once
    )


def by_build(n, own):
    def once(rng):
        common = 0.05 * rng.normal(size=n)
        z, x = (
            25.0 * (1.0 + common + own * rng.normal(size=n)),
            50.0 * (1.0 + common + own * rng.normal(size=n)),
        )
        _, low, high = paired_ratio(z, x)
        return low <= 0.5 <= high, np.log(high / low) / (2 * 1.96 * own * np.sqrt(2.0 / n))

    return Truth(f"ratio of paired builds, {n} builds, own scatter {own:.0%}", once)


def quotients(n, groups):
    def once(rng):
        made = {
            str(i): (25.0 + (1.0 + i % 3) * rng.normal(size=n), 50.0 + 2.0 * rng.normal(size=n))
            for i in range(groups)
        }
        found = compare_ratios(made)
        known = 2 * norm.isf(0.025 / len(found)) * np.sqrt((2 * 0.08**2 + 2 * 0.04**2) / n)
        width = float(np.mean([np.log(pair.high / pair.low) for pair in found]))
        return all(pair.low <= 1.0 <= pair.high for pair in found), width / known

    return Truth(f"quotients of {groups} groups' ratios at once, {n} and {n}", once)


def tolerance(n, content):
    def once(rng):
        values = rng.normal(size=n)
        bound = values.mean() - one_sided_factor(content, RATE, n) * values.std(ddof=1)
        return bound <= norm.isf(content), bound / norm.isf(content)

    return Truth(f"tolerance, normal one-sided {content:.0%}, {n} values", once)


def two_sided(n, content):
    factor = two_sided_factor(content, RATE, n)

    def once(rng):
        values = rng.normal(size=n)
        low, high = values.mean() + np.array([-1.0, 1.0]) * factor * values.std(ddof=1)
        held = norm.cdf(high) - norm.cdf(low) >= content
        return bool(held), (high - low) / (2 * norm.isf(0.5 * (1.0 - content)))

    return Truth(f"tolerance, normal two-sided {content:.0%}, {n} values", once)


def ranks(n, content):
    rank = rank_bound(content, RATE, n)

    def once(rng):
        bound = np.sort(rng.standard_exponential(n))[rank - 1]
        return bound <= -np.log(content), float("nan")

    return Truth(f"tolerance, any distribution {content:.0%}, {n} values", once)


def weibull(n, shape):
    def once(rng):
        values = 60.0 * rng.weibull(shape, size=n)
        true = 60.0 * (-np.log(0.9)) ** (1.0 / shape)
        bound = weibull_bound(values.tolist(), 0.9, RATE, rng)
        return bound <= true, bound / true

    return Truth(f"tolerance, Weibull 90%, modulus {shape:g}, {n} values", once)


def parts(count, size, ratio, words=""):
    true = 50.0 + norm.ppf(0.1) * np.hypot(ratio, 1.0)

    def once(rng):
        bound = part_bound(builds(rng, count, size, ratio))
        return bound <= true, (50.0 - bound) / (50.0 - true)

    return Truth(
        f"parts of further builds 90%, {count} builds x {words or size}, between/within {ratio:g}", once
    )


def scatter(kind, count, size, ratio, words=""):
    true = ratio if kind == "between" else 1.0

    def once(rng):
        found = scatter_intervals(builds(rng, count, size, ratio))
        low, high = getattr(found, f"{kind}_low"), getattr(found, f"{kind}_high")
        return low <= true <= high, (high - low) / true if true else float("nan")

    return Truth(f"scatter {kind} builds, {count} x {words or size}, between/within {ratio:g}", once)


def capable(n, middle):
    high = 4.0 if middle else np.inf
    true = 4.0 / 3.0

    def once(rng):
        found = capability(*(lambda v: (v.mean(), v.std(ddof=1)))(rng.normal(size=n)), n, -4.0, high)
        return found.low <= true, found.low / true

    return Truth(
        f"capability, {'two limits, mean in the middle' if middle else 'one limit'}, {n} values", once
    )


def equal(n, m):
    """The difference sits on the margin: it may be called equal in 5 % of cases."""

    def once(rng):
        found = equivalence(sample_of(1.0 + rng.normal(size=n)), sample_of(3.0 * rng.normal(size=m)), 1.0)
        return not found.shown, (found.high - found.low) / (2 * 1.645 * np.sqrt(1.0 / n + 9.0 / m))

    return Truth(f"equivalence on the margin, {n} against {m}, scatter 1 and 3", once)


def effect(sessions, per, between):
    """A factor changed within sessions, one between them; the worse of both decides."""

    def once(rng):
        session = np.repeat(np.arange(sessions), per)
        easy = np.tile([-1.0, 1.0], sessions * per // 2)
        hard = np.where(session % 2 == 0, -1.0, 1.0)
        matrix = np.column_stack([np.ones(session.size), easy, hard, easy * hard])
        values = (
            2.0 * easy + hard + between * rng.normal(size=sessions)[session] + rng.normal(size=session.size)
        )
        low, high = fit_mixed(matrix, values, {"session": session}).interval()
        known = np.sqrt(between**2 / sessions + 1.0 / session.size)
        return low[2] <= 1.0 <= high[2], (high[2] - low[2]) / (2 * 1.96 * known)

    return Truth(f"effect between sessions, {sessions} sessions x {per}, between/within {between:g}", once)


def interaction(sessions, per, between):
    def once(rng):
        session = np.repeat(np.arange(sessions), per)
        first, second = (
            np.tile([-1.0, 1.0], sessions * per // 2),
            np.tile([-1.0, -1.0, 1.0, 1.0], sessions * per // 4),
        )
        matrix = np.column_stack([np.ones(session.size), first, second, first * second])
        values = first + 0.5 * first * second + between * rng.normal(size=sessions)[session]
        values = values + rng.normal(size=session.size)
        low, high = fit_mixed(matrix, values, {"session": session}).interval()
        return low[3] <= 0.5 <= high[3], (high[3] - low[3]) / (2 * 1.96 / np.sqrt(session.size))

    return Truth(
        f"interaction within sessions, {sessions} sessions x {per}, between/within {between:g}", once
    )


UNEVEN = (2, 8, 3, 1, 5, 4)
TRUTHS = (
    *(fieller(n, cv, pooled) for n in (3, 5, 10) for cv in (0.05, 0.2) for pooled in (False, True)),
    *(by_build(n, own) for n in (3, 6, 12) for own in (0.02, 0.1)),
    quotients(5, 4), quotients(5, 10), quotients(3, 6),
    *(tolerance(n, content) for n in (3, 5, 20) for content in (0.9, 0.99)),
    *(two_sided(n, content) for n in (3, 10) for content in (0.9, 0.99)),
    ranks(29, 0.9), ranks(46, 0.9), ranks(300, 0.99),
    weibull(5, 4.0), weibull(10, 15.0),
    *(parts(count, size, ratio) for count, size in ((3, 4), (5, 4), (10, 4), (10, 1)) for ratio in (0.0, 1.0, 3.0)),
    parts(6, UNEVEN, 1.0, "1 to 8"), parts(6, UNEVEN, 3.0, "1 to 8"),
    *(scatter("between", count, size, ratio)
      for count, size in ((2, 20), (3, 4), (10, 4)) for ratio in (0.3, 1.0, 3.0)),
    scatter("between", 6, UNEVEN, 1.0, "1 to 8"), scatter("within", 2, 20, 3.0), scatter("within", 10, 4, 1.0),
    *(capable(n, middle) for n in (5, 20) for middle in (False, True)),
    equal(5, 5), equal(6, 20), equal(200, 200),
    *(effect(sessions, 4, between) for sessions in (4, 8) for between in (0.0, 0.5, 2.0)),
    *(interaction(sessions, 4, between) for sessions in (4, 8) for between in (0.0, 2.0)),
)  # fmt: skip


def simulate(truth, count, seed):
    """Return the covered share, its Monte-Carlo error and the median relative width of `count` simulations."""
    rng = np.random.default_rng(seed)
    found = [truth.once(rng) for _ in range(count)]
    covered = float(np.mean([held for held, _ in found]))
    return (
        covered,
        float(np.sqrt(RATE * (1.0 - RATE) / count)),
        float(np.median([width for _, width in found])),
    )
