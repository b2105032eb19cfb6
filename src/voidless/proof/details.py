"""What else confirmation builds tell of one response, and what their number does not let be told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from voidless.proof.agreement import batches_agree
from voidless.proof.between import FEWEST, scatter_intervals
from voidless.proof.capability import capability
from voidless.proof.equivalence import Sample, equivalence, sample_of
from voidless.proof.requirement import Requirement
from voidless.proof.size import MOST_BUILDS
from voidless.proof.tolerance import rank_bound, smallest_sample
from voidless.proof.weibull import weibull_bound

__all__ = ["Detail", "builds_to_equal", "details", "equal_to"]

Groups = Sequence[Sequence[float]]

_DIFFER = 0.05


@dataclass(frozen=True)
class Detail:
    """
    One further statement on confirmation builds.

    Attributes
    ----------
    kind : str
        `between_builds`, `within_builds`, `agreement`, `capability`, `weibull`, `any_distribution` or `equivalence`.
    value, low, high : float
        Estimate and limits; NaN where there is none. [unit of the response, or 1]
    words : str
        The statement, or what is missing for it, in one sentence.
    """

    kind: str
    value: float
    low: float
    high: float
    words: str


def details(requirement: Requirement, values: Groups, rng: np.random.Generator) -> list[Detail]:
    """
    Return scatter, agreement of builds, capability and bounds without a normal distribution.

    Parameters
    ----------
    requirement : Requirement
        Limits, share and confidence.
    values : sequence of sequences of float
        Values of the parts, build by build. [unit of the response]
    rng : numpy.random.Generator
        For the Weibull bound.

    Notes
    -----
    Capability and bounds speak of the builds' means. Parts are never pooled: a test of agreement of few builds
    misses most scatter between builds, and a bound on pooled parts would then hold less often than it says.
    """
    groups = [list(group) for group in values if len(group)]
    if len(groups) < 2:
        said = (
            f"{len(groups)} build(s): parts of one build are one build; {FEWEST - len(groups)} more at least."
        )
        return [_none("between_builds", said)]
    found = _scatter(groups)
    means = [float(np.mean(group)) for group in groups]
    found += [_agreement(groups), _capability(requirement, means)]
    return [*found, _weibull(requirement, means, rng), _ranks(requirement, means)]


def _none(kind: str, words: str) -> Detail:
    return Detail(kind, float("nan"), float("nan"), float("nan"), words)


def _scatter(groups: Groups) -> list[Detail]:
    """Return scatter between and within builds with 95 % limits."""
    limits = scatter_intervals(groups)
    means = [float(np.mean(group)) for group in groups]
    freedom = sum(len(group) - 1 for group in groups)
    if not freedom:
        sd = float(np.std(means, ddof=1))
        ends = f"(95 % {limits.between_low:.3g} to {limits.between_high:.3g})"
        words = f"builds of one part each scatter by {sd:.3g} {ends}."
        return [Detail("between_builds", sd, limits.between_low, limits.between_high, words)]
    within = float(np.sqrt(sum(np.var(group) * len(group) for group in groups) / freedom))
    inside = within**2 * float(np.mean([1.0 / len(group) for group in groups]))
    between = float(np.sqrt(max(0.0, float(np.var(means, ddof=1)) - inside)))
    told = (
        ("between_builds", "builds scatter by", between, limits.between_low, limits.between_high),
        ("within_builds", "parts of one build scatter by", within, limits.within_low, limits.within_high),
    )
    return [
        Detail(kind, value, low, high, f"{words} {value:.3g} (95 % {low:.3g} to {high:.3g}).")
        for kind, words, value, low, high in told
    ]


def _agreement(groups: Groups) -> Detail:
    if min(map(len, groups)) < 2:
        return _none("agreement", "whether builds agree cannot be tested: two parts of every build at least.")
    if not np.ptp(np.concatenate(list(map(np.asarray, groups)))) > 0.0:
        return _none("agreement", "whether builds agree cannot be tested: all values are the same.")
    p = batches_agree(groups)
    said = (
        "builds differ"
        if p < _DIFFER
        else "no difference between builds is seen, which does not show that none is"
    )
    at = "at most 0.001" if p <= 0.001 else "0.25 or more" if p >= 0.25 else f"{p:.2g}"
    return Detail("agreement", p, float("nan"), float("nan"), f"{said} (Anderson-Darling, p {at}).")


def _capability(requirement: Requirement, values: Sequence[float]) -> Detail:
    means = np.asarray(values)
    sd = float(means.std(ddof=1))
    if means.size < FEWEST or not sd > 0.0:
        said = f"capability: {means.size} builds; {FEWEST} that scatter are the fewest, ten are worth having."
        return _none("capability", said)
    found = capability(
        float(means.mean()), sd, means.size, requirement.low, requirement.high, requirement.confidence
    )
    words = (
        f"capability of builds' means {found.value:.2f}, at least {found.low:.2f} with "
        f"{100 * requirement.confidence:g} % confidence."
    )
    return Detail("capability", found.value, found.low, float("nan"), words)


def _weibull(requirement: Requirement, sample: Sequence[float], rng: np.random.Generator) -> Detail:
    if not np.isfinite(requirement.low):
        return _none(
            "weibull", "Weibull: a bound from below is of use only where a lowest value is specified."
        )
    if len(set(sample)) < FEWEST or not min(sample) > 0.0:
        said = f"Weibull: {len(set(sample))} different value(s); {FEWEST} builds above 0 are the fewest."
        return _none("weibull", said)
    bound = weibull_bound(sample, requirement.content, requirement.confidence, rng)
    words = f"Weibull, {len(sample)} builds: {_share(requirement)} of builds exceed {bound:.4g}."
    return Detail("weibull", float("nan"), bound, float("nan"), words)


def _ranks(requirement: Requirement, sample: Sequence[float]) -> Detail:
    needed = smallest_sample(requirement.content, requirement.confidence)
    rank = rank_bound(requirement.content, requirement.confidence, len(sample)) if len(sample) > 1 else 0
    if rank == 0:
        said = f"without a distribution: {len(sample)} builds; {needed - len(sample)} more would do."
        return _none("any_distribution", said)
    ordered = np.sort(sample)
    low = float(ordered[rank - 1]) if np.isfinite(requirement.low) else float("nan")
    high = float(ordered[-rank]) if np.isfinite(requirement.high) else float("nan")
    ends = [f"exceed {low:.4g}"] * bool(np.isfinite(low)) + [f"stay below {high:.4g}"] * bool(
        np.isfinite(high)
    )
    told = ", as many ".join(ends)
    words = f"whatever the distribution, {len(sample)} builds: {_share(requirement)} of builds {told}."
    return Detail("any_distribution", float("nan"), low, high, words)


def _share(requirement: Requirement) -> str:
    return f"with {100 * requirement.confidence:g} % confidence {100 * requirement.content:g} %"


def equal_to(reference: Sample, margin: float, values: Groups) -> Detail:
    """
    Return whether the builds' mean is shown to equal a reference's within a margin, and how many builds would do.

    Parameters
    ----------
    reference : Sample
        Mean, standard deviation and number of independent values. [unit of the response]
    margin : float
        Largest difference that counts as equal, stated before the data were seen. [unit of the response]
    values : sequence of sequences of float
        Values of the parts, build by build: each build counts once. [unit of the response]

    Raises
    ------
    InputError
        The margin is not above 0, or the reference has no scatter.
    """
    equivalence(reference, reference, margin)  # refuses a useless reference or margin before more is printed
    means = [float(np.mean(group)) for group in values if len(group)]
    if len(set(means)) < 2:
        said = f"equality: {len(means)} build(s); parts of one build are one build, two that scatter are the fewest."
        return _none("equivalence", said)
    own = sample_of(means)
    found = equivalence(own, reference, margin)
    seen = f"difference {found.difference:+.3g} (90 % {found.low:.3g} to {found.high:.3g}), margin {margin:g}"
    if found.shown:
        words = f"equal to the reference: {seen}, p {found.p:.2g}."
    elif found.low > margin or found.high < -margin:
        words = f"not equal to the reference: {seen}."
    else:
        needed = builds_to_equal(own, reference, margin)
        more = (
            f"{max(1, needed - own.size)} more builds would probably show it, were the truth as measured"
            if needed
            else f"not even {MOST_BUILDS} builds would probably show it against this reference"
        )
        words = f"equality not shown: {seen}; {more}."
    return Detail("equivalence", found.difference, found.low, found.high, words)


def builds_to_equal(own: Sample, reference: Sample, margin: float, power: float = 0.8) -> int | None:
    """
    Return the fewest builds that show equality with this power if the truth is as measured; None beyond 60.

    Notes
    -----
    The room between difference and margin must hold both quantiles of Student's t, with half of the failures
    given to either test when the difference is small; on the safe side.
    """
    room = margin - abs(own.mean - reference.mean)
    for builds in range(2, MOST_BUILDS + 1):
        found = equivalence(Sample(own.mean, own.sd, builds), reference, margin)
        error = float(np.hypot(own.sd / np.sqrt(builds), reference.sd / np.sqrt(reference.size)))
        quantiles = float(stats.t.ppf(0.95, found.freedom) + stats.t.ppf(0.5 + 0.5 * power, found.freedom))
        if room >= quantiles * error:
            return builds
    return None
