"""
Shares of cases with an outcome, with intervals that hold at small counts and with several grafts an animal.

For coming verbs: `newcombe_difference` (compare), `funnel_limits` and `binomial_limit` (watch), `weight` (pool).
"""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import binom, t
from statsmodels.stats.proportion import proportion_confint

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Span, Tidy, tidy
from audit.stats import checked
from audit.stats.permutation import swaps

if TYPE_CHECKING:
    import pandas as pd


def clopper_pearson(
    successes: int, total: int, *, quantity: str = "share", unit: str = "animals", level: float = 0.95
) -> Estimate:
    """
    Share of independent cases with its exact interval: never too short, mostly too long.

    Clopper CJ, Pearson ES. Biometrika 1934;26:404-413.

    >>> round(clopper_pearson(0, 7).high, 3)
    0.41
    """
    checked.level(level)
    _counts([successes], [total])
    low, high = _limits(successes, total, "beta", level)
    return Estimate(
        quantity=quantity,
        value=successes / total,
        value_to=successes / total,
        low=low,
        high=high,
        level=level,
        method="Clopper-Pearson",
        unit=unit,
        numerator=int(successes),
        denominator=int(total),
        animals=int(total) if unit == "animals" else None,
    )


def _limits(successes: float, total: float, method: str, level: float) -> Span:
    low, high = proportion_confint(successes, total, alpha=1 - level, method=method)
    # Rounding may leave the observed share of 0 or 1 just outside its own interval.
    share = successes / total
    return float(min(max(low, 0.0), share)), float(max(min(high, 1.0), share))


def _counts(successes: ArrayLike, totals: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Checked counts of one group: none missing or below 0, successes no more than their totals."""
    y, n = checked.numbers(successes, "successes"), checked.numbers(totals, "total")
    checked.same_length(successes=y, totals=n)
    checked.not_empty(n.sum())
    wrong = (y < 0) | (y > n)
    if wrong.any():
        row = int(np.argmax(wrong))
        raise AuditError(f"row {row}: {y[row]:g} of {n[row]:g} is not a share", "check the two counts and their order")
    return y, n


@dataclass(frozen=True, slots=True)
class ClusteredShare(Tidy):
    """
    A share where an animal may have given several grafts, and how much alike the grafts of one animal were.

    `effective_n` is the number of independent grafts that would tell as much. The correlation is None where it
    is undefined: no animal with two grafts, one animal only, or all outcomes alike.
    """

    estimate: Estimate
    design_effect: float
    effective_n: float
    intra_animal_correlation: float | None

    @property
    def frame(self) -> "pd.DataFrame":
        """One row: `audit.results.TIDY_COLUMNS`, design_effect, effective_n, intra_animal_correlation."""
        more = ("design_effect", "effective_n", "intra_animal_correlation")
        return tidy([self.estimate]).assign(**{name: getattr(self, name) for name in more})


def clustered_share(
    successes: ArrayLike,
    totals: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    quantity: str = "share",
    unit: str = "reconstructions",
    level: float = 0.95,
) -> ClusteredShare:
    """
    Share of grafts with an outcome when an animal may have several, from counts by animal.

    Row i stands for `weight[i]` animals (one when left out) with `successes[i]` of `totals[i]` grafts each.
    Ratio estimator with the variance between animals (Rao JNK, Scott AJ. Biometrics 1992;48:577-585), design effect
    of at least 1, and a Wilson interval on the effective number, shortened by the ratio of the squared t quantiles
    for all grafts and for all animals (Korn EL, Graubard BI. Surv Methodol 1998;24:193-201). One graft an animal gives
    the Wilson interval exactly; when all outcomes are alike the effective number is the number of animals.

    >>> share = clustered_share([2, 1, 0], [2, 2, 2])
    >>> share.estimate.value, share.design_effect, share.effective_n
    (0.5, 2.0, 3.0)
    """
    checked.level(level)
    y, n = _counts(successes, totals)
    count = checked.weights(weight, len(y))
    known = (n > 0) & (count > 0)
    checked.not_empty(known.sum())
    y, n, count = y[known], n[known], count[known]
    grafts, took, clusters = float(count @ n), float(count @ y), float(count.sum())
    share, shrink = took / grafts, 1.0
    effect = design_effect(y, n, count)
    if grafts > clusters > 1 and 0 < share < 1:
        tail = (1 + level) / 2
        shrink = float(t.ppf(tail, grafts - 1) / t.ppf(tail, clusters - 1)) ** 2
    effective = grafts / effect
    low, high = _limits(share * effective * shrink, effective * shrink, "wilson", level)
    estimate = Estimate(
        quantity=quantity,
        value=share,
        value_to=share,
        low=low,
        high=high,
        level=level,
        method="Wilson" if grafts == clusters else "Wilson on effective numbers, clustered by animal",
        unit=unit,
        numerator=round(took),
        denominator=round(grafts),
        animals=round(clusters),
        notes=() if grafts == clusters else (f"design effect {effect:.2f}, effective number {effective:.1f}",),
    )
    return ClusteredShare(estimate, effect, effective, _anova_correlation(y, n, count))


def design_effect(successes: NDArray, totals: NDArray, weight: NDArray) -> float:
    """Variance of a share between animals over that of as many independent grafts, at least 1; rows as above."""
    grafts, clusters = float(weight @ totals), float(weight.sum())
    share = float(weight @ successes) / grafts
    if grafts == clusters:
        return 1.0
    if share in (0.0, 1.0) or clusters == 1:
        return grafts / clusters
    between = clusters / (clusters - 1) * float(weight @ (successes - share * totals) ** 2) / grafts**2
    return max(1.0, between / (share * (1 - share) / grafts))


def _anova_correlation(y: NDArray, n: NDArray, weight: NDArray) -> float | None:
    """Analysis-of-variance estimate of the correlation within animals (Donner A. Int Stat Rev 1986;54:67-82)."""
    grafts, clusters = float(weight @ n), float(weight.sum())
    share = float(weight @ y) / grafts
    if grafts == clusters or clusters == 1 or share in (0.0, 1.0):
        return None
    within = float(weight @ (y * (n - y) / n)) / (grafts - clusters)
    between = float(weight @ (n * (y / n - share) ** 2)) / (clusters - 1)
    typical = (grafts - float(weight @ n**2) / grafts) / (clusters - 1)
    return (between - within) / (between + (typical - 1) * within)


def newcombe_difference(first: Estimate, second: Estimate, *, quantity: str = "difference of shares") -> Estimate:
    """
    First minus second, with the square-and-add (MOVER) interval of the two intervals.

    On two Wilson intervals this is Newcombe's hybrid score interval (Newcombe RG. Stat Med 1998;17:873-890, method
    10); it serves any two independent estimates with intervals at one level (Zou GY, Donner A. Stat Med
    2008;27:1693-1702). Where the data only bound an estimate the difference is bounded too. Raises TooFewData
    where a side has no value or no interval, AuditError where the levels or units differ.

    >>> first, second = (clustered_share([1, 0], [1, 1], weight=yes_no).estimate for yes_no in ([56, 14], [48, 32]))
    >>> difference = newcombe_difference(first, second)
    >>> round(difference.low, 4), round(difference.high, 4)
    (0.0524, 0.3339)
    """
    if first.level != second.level or first.unit != second.unit:
        raise AuditError(
            f"the sides differ in kind ({first.unit} at {first.level}, {second.unit} at {second.level})",
            "ask for both with one unit and one level",
        )
    a_from, a_to, a_low, a_high = _numbers(first)
    b_from, b_to, b_low, b_high = _numbers(second)
    low, high = a_from - b_to, a_to - b_from
    return Estimate(
        quantity=quantity,
        value=low,
        value_to=high,
        low=low - sqrt((a_from - a_low) ** 2 + (b_high - b_to) ** 2),
        high=high + sqrt((a_high - a_to) ** 2 + (b_from - b_low) ** 2),
        level=first.level,
        method=f"square-and-add of {first.method}" + ("" if first.method == second.method else f" and {second.method}"),
        unit=first.unit,
        animals=None if None in (first.animals, second.animals) else first.animals + second.animals,  # type: ignore[operator]
        unknown=first.unknown + second.unknown,
        notes=tuple(dict.fromkeys(first.notes + second.notes)),
    )


def _numbers(side: Estimate) -> tuple[float, float, float, float]:
    if side.value is None or side.value_to is None or side.low is None or side.high is None:
        raise TooFewData(f"no difference: {side.quantity} has no value with an interval", "show the sides apart")
    return side.value, side.value_to, side.low, side.high


def binomial_limit(probability: float, totals: ArrayLike, target: float) -> NDArray[np.float64]:
    """
    The share that a binomial count with this target stays under with this probability, for each total.

    Interpolated between counts, so that limits do not jump with the total; may fall outside 0 to 1.
    Spiegelhalter DJ. Stat Med 2005;24:1185-1202, appendix A.1.1.
    """
    checked.share(probability, "a probability")
    checked.share(target, "a target")
    n = checked.numbers(totals, "total", low=1)
    count = binom.ppf(probability, n, target)
    upper = binom.cdf(count, n, target)
    return (count - (upper - probability) / binom.pmf(count, n, target)) / n


def funnel_limits(target: float, totals: ArrayLike, *, level: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Lower and upper exact binomial limits around the target for each total, cut to 0 to 1 for drawing.

    Usual levels are 0.95 and 0.998. A point outside asks for a look at the cases; it is not a ranking.

    >>> low, high = funnel_limits(0.9, [50], level=0.95)
    >>> round(float(low[0]), 3), round(float(high[0]), 3)
    (0.8, 0.966)
    """
    tail = (1 - checked.level(level)) / 2
    low, high = binomial_limit(tail, totals, target), binomial_limit(1 - tail, totals, target)
    return np.clip(low, 0, 1), np.clip(high, 0, 1)


def permutation_p(
    first: tuple[ArrayLike, ArrayLike],
    second: tuple[ArrayLike, ArrayLike],
    *,
    rng: np.random.Generator,
    draws: int = 9_999,
) -> tuple[float, str]:
    """
    Two-sided p for a difference of two shares, and how it was computed: whole animals change groups.

    Each side is (successes by animal, grafts by animal). Exact at small numbers, drawn otherwise.

    >>> permutation_p(([3, 2, 2], [3, 2, 2]), ([0, 0, 0], [2, 2, 3]), rng=np.random.default_rng(1))
    (0.1, 'exact permutation of animals')
    """
    a, b = (np.column_stack(_counts(*side)).astype(np.int64) for side in (first, second))
    kinds, counts = np.unique(np.vstack([a, b]), axis=0, return_counts=True)
    ways = swaps(counts, len(a), rng=rng, draws=draws)
    took, grafts = (ways.picks @ kinds).T
    all_took, all_grafts = counts @ kinds
    differences = _share(took, grafts) - _share(all_took - took, all_grafts - grafts)
    observed = a[:, 0].sum() / a[:, 1].sum() - b[:, 0].sum() / b[:, 1].sum()
    return ways.two_sided(differences, observed), ways.method


def _share(successes: NDArray, totals: NDArray) -> NDArray:
    # Animals without a known graft could fill a whole group; such a way tells nothing and counts as no difference.
    return np.divide(successes, totals, out=np.zeros(len(successes)), where=totals > 0)
