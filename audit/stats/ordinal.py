"""Ordinal grades in two groups: their distribution, the probability of superiority, and permutation of animals."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.stats import norm, rankdata, t

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import Estimate, Span, Tidy
from audit.stats.permutation import swaps

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class GradeDistribution(Tidy):
    """
    Counts and shares by grade, lowest first, and the median as the two middle grades (mostly the same).

    There is no mean: the steps between grades have no common size.
    """

    grades: tuple[str, ...]
    counts: tuple[int, ...]
    shares: tuple[float, ...]
    median: tuple[str, str]

    @property
    def frame(self) -> "pd.DataFrame":
        """One row a grade: grade, count, share."""
        import pandas as pd

        return pd.DataFrame({"grade": self.grades, "count": self.counts, "share": self.shares})


def grade_distribution(grades: Sequence[str], counts: Sequence[int]) -> GradeDistribution:
    """
    Distribution over ordered grades, lowest first, from their tally. Raises EmptyGroup for an empty tally.

    >>> grade_distribution(["H0", "H1", "H2"], [1, 3, 2]).median
    ('H1', 'H1')
    """
    total = sum(counts)
    if not total:
        raise EmptyGroup("no graft was graded; widen the day window or leave the group out")
    reached = np.cumsum(counts)
    low, high = (grades[int(np.searchsorted(reached, place))] for place in ((total + 1) // 2, total // 2 + 1))
    return GradeDistribution(tuple(grades), tuple(counts), tuple(count / total for count in counts), (low, high))


def superiority(
    first: ArrayLike,
    second: ArrayLike,
    *,
    first_animals: ArrayLike | None = None,
    second_animals: ArrayLike | None = None,
    level: float = 0.95,
) -> Estimate:
    """
    Chance that a graft of the first group has the higher grade than one of the second, ties counting half.

    Placement values summed by animal give the variance (Obuchowski NA. Biometrics 1997;53:567-578); an animal may have
    grafts in both groups. The interval is Wilson's on the effective number, p (1 - p) / variance, with a
    t quantile, so it stays within 0 to 1. Where the variance is nil (groups apart, or all grades alike) it is
    Newcombe's for the number of animals (Newcombe RG. Stat Med 2006;25:559-573, method 5), never a point. Raises
    TooFewData under two animals in a group.

    >>> found = superiority([3, 3, 2, 4], [1, 1, 2, 0])
    >>> found.value, round(found.low, 2), round(found.high, 2)
    (0.96875, 0.68, 1.0)
    """
    share, variance, freedom, (first_n, second_n) = placements(first, second, first_animals, second_animals)
    if variance > 0:
        low, high = _wilson(share, share * (1 - share) / variance, float(t.ppf((1 + level) / 2, freedom)))
        method = "Wilson on the effective number of placement values, t quantile"
    else:
        low, high = _newcombe(share, first_n, second_n, float(norm.ppf((1 + level) / 2)))
        method = "Newcombe method 5 on animals"
    return Estimate(
        quantity="probability of superiority",
        value=share,
        value_to=share,
        low=low,
        high=high,
        level=level,
        method=method,
        unit="reconstructions",
        denominator=np.size(first) + np.size(second),
        animals=first_n + second_n,
    )


def placements(
    first: ArrayLike, second: ArrayLike, first_animals: ArrayLike | None = None, second_animals: ArrayLike | None = None
) -> tuple[float, float, float, tuple[int, int]]:
    """
    Probability of superiority, its variance and degrees of freedom, and the number of animals in each group.

    With one graft an animal these are the numbers of Brunner E, Munzel U. Biom J 2000;42:17-25.
    """
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if not a.size or not b.size:
        raise EmptyGroup("one of the two groups has no grades; there is nothing to compare")
    below_a, below_b = _share_below(b, a), 1 - _share_below(a, b)
    share = float(below_a.mean())
    a_owner, b_owner, animals = _owners(a, b, first_animals, second_animals)
    pull_a = np.bincount(a_owner, below_a - share, animals) / a.size
    pull_b = np.bincount(b_owner, below_b - share, animals) / b.size
    a_count, b_count = len(np.unique(a_owner)), len(np.unique(b_owner))
    if min(a_count, b_count) < 2:
        raise TooFewData(f"groups of {a_count} and {b_count} animals cannot be compared; show the grades themselves")
    a_part = float(pull_a @ pull_a) * a_count / (a_count - 1)
    b_part = float(pull_b @ pull_b) * b_count / (b_count - 1)
    shared = 2 * float(pull_a @ pull_b) * animals / (animals - 1)
    parts = a_part**2 / (a_count - 1) + b_part**2 / (b_count - 1)
    freedom = (a_part + b_part) ** 2 / parts if parts > 1e-24 else min(a_count, b_count) - 1
    variance = a_part + b_part + shared
    return share, variance if variance > 1e-12 else 0.0, freedom, (a_count, b_count)


def superiority_p(
    first: ArrayLike,
    second: ArrayLike,
    *,
    first_animals: ArrayLike | None = None,
    second_animals: ArrayLike | None = None,
    generator: np.random.Generator,
    draws: int = 9_999,
) -> tuple[float, str]:
    """
    Two-sided permutation p for a probability of superiority of one half, and how it was computed.

    Whole animals change groups; ties are kept as ties (scipy's exact test ignores them). Raises AuditError where an
    animal has grafts in both groups.

    >>> superiority_p([2, 2, 2], [2, 2, 2, 2], generator=np.random.default_rng(1))
    (1.0, 'exact permutation of animals')
    """
    rank_sum, size, is_first = _ranks_by_animal(first, second, first_animals, second_animals)
    # Doubled midranks are whole numbers, so that alike animals compare as equal.
    kinds, counts = np.unique(np.column_stack([np.rint(2 * rank_sum), size]), axis=0, return_counts=True)
    ways = swaps(counts, int(is_first.sum()), generator=generator, draws=draws)
    doubled, grafts = (ways.picks @ kinds).T
    total = size.sum()
    away = _away(doubled / 2, grafts, total)
    observed = _away(rank_sum[is_first].sum(), size[is_first].sum(), total)
    return ways.two_sided(away, float(observed)), ways.method


def _away(rank_sum: NDArray, grafts: NDArray, total: float) -> NDArray:
    """Probability of superiority less one half."""
    return (rank_sum - grafts * (total + 1) / 2) / (grafts * (total - grafts))


def clustered_rank_sum(
    first: ArrayLike, second: ArrayLike, first_animals: ArrayLike, second_animals: ArrayLike
) -> tuple[float, float]:
    """
    Large-sample z and two-sided p of the rank sum with whole animals permuted among those with as many grafts.

    For registers too large for permutation. Rosner B, Glynn RJ, Lee MLT. Biometrics 2003;59:1089-1098.
    """
    rank_sum, size, is_first = _ranks_by_animal(first, second, first_animals, second_animals)
    away = variance = 0.0
    for grafts in np.unique(size):
        here, chosen = rank_sum[size == grafts], is_first[size == grafts]
        away += float(here[chosen].sum() - chosen.sum() * here.mean())
        if len(here) > 1:
            variance += chosen.sum() * (~chosen).sum() / len(here) * float(here.var(ddof=1))
    z = away / sqrt(variance) if variance > 0 else 0.0
    return z, float(2 * norm.sf(abs(z)))


def _share_below(sample: NDArray, at: NDArray) -> NDArray:
    ordered = np.sort(sample)
    return (np.searchsorted(ordered, at, "left") + np.searchsorted(ordered, at, "right")) / (2 * ordered.size)


def _owners(
    a: NDArray, b: NDArray, first_animals: ArrayLike | None, second_animals: ArrayLike | None
) -> tuple[NDArray, NDArray, int]:
    """Animal numbers of both groups; each graft is an animal of its own where no animals are named."""
    if first_animals is None or second_animals is None:
        return np.arange(a.size), a.size + np.arange(b.size), a.size + b.size
    names, owner = np.unique(
        np.concatenate([np.asarray(first_animals), np.asarray(second_animals)]), return_inverse=True
    )
    return owner[: a.size], owner[a.size :], len(names)


def _ranks_by_animal(
    first: ArrayLike, second: ArrayLike, first_animals: ArrayLike | None, second_animals: ArrayLike | None
) -> tuple[NDArray, NDArray, NDArray]:
    """Sum of midranks, number of grafts, and whether in the first group, by animal."""
    a, b = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    a_owner, b_owner, animals = _owners(a, b, first_animals, second_animals)
    if np.intersect1d(a_owner, b_owner).size:
        raise AuditError("an animal has grafts in both groups, so animals cannot change groups; use the interval")
    owner = np.concatenate([a_owner, b_owner])
    is_first = np.bincount(a_owner, minlength=animals) > 0
    return np.bincount(owner, rankdata(np.concatenate([a, b]))), np.bincount(owner), is_first


def _wilson(share: float, effective: float, quantile: float) -> Span:
    # Not the library's: it takes the normal quantile only.
    weight = quantile**2 / effective
    centre = (share + weight / 2) / (1 + weight)
    half = sqrt(share * (1 - share) * weight + weight**2 / 4) / (1 + weight)
    return max(0.0, centre - half), min(1.0, centre + half)


def _newcombe(share: float, first: int, second: int, quantile: float) -> Span:
    def excess(p: float) -> float:
        spread = (1 - p) / (2 - p) + p / (1 + p)
        variance = p * (1 - p) / (first * second) * (1 + ((first + second) / 2 - 1) * spread)
        return (share - p) ** 2 - quantile**2 * variance

    tiny = 1e-9
    low = 0.0 if share < tiny else float(brentq(excess, 0.0, min(share, 1 - tiny)))
    high = 1.0 if share > 1 - tiny else float(brentq(excess, max(share, tiny), 1.0))
    return low, high
