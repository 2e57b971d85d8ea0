"""
Ordinal grades in two groups: the probability of superiority, clustered by animal.

For a coming verb: `superiority` between two periods or practices (compare).
"""

from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.stats import norm, t

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import Estimate, Span
from audit.stats import checked


def superiority(
    first: ArrayLike,
    second: ArrayLike,
    *,
    first_animal: ArrayLike | None = None,
    second_animal: ArrayLike | None = None,
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
    checked.level(level)
    share, variance, freedom, (first_n, second_n) = placements(first, second, first_animal, second_animal)
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
    first: ArrayLike, second: ArrayLike, first_animal: ArrayLike | None = None, second_animal: ArrayLike | None = None
) -> tuple[float, float, float, tuple[int, int]]:
    """
    Probability of superiority, its variance and degrees of freedom, and the number of animals in each group.

    With one graft an animal these are the numbers of Brunner E, Munzel U. Biom J 2000;42:17-25.
    """
    a, b = (checked.numbers(group, "grade") for group in (first, second))
    if not a.size or not b.size:
        raise EmptyGroup("one of the two groups has no grades", "there is nothing to compare")
    below_a, below_b = _share_below(b, a), 1 - _share_below(a, b)
    share = float(below_a.mean())
    a_owner, b_owner, animals = _owners(a, b, first_animal, second_animal)
    influence_a = np.bincount(a_owner, below_a - share, animals) / a.size
    influence_b = np.bincount(b_owner, below_b - share, animals) / b.size
    a_count, b_count = len(np.unique(a_owner)), len(np.unique(b_owner))
    if min(a_count, b_count) < 2:
        raise TooFewData(f"groups of {a_count} and {b_count} animals cannot be compared", "show the grades themselves")
    a_part = float(influence_a @ influence_a) * a_count / (a_count - 1)
    b_part = float(influence_b @ influence_b) * b_count / (b_count - 1)
    shared = 2 * float(influence_a @ influence_b) * animals / (animals - 1)
    parts = a_part**2 / (a_count - 1) + b_part**2 / (b_count - 1)
    freedom = (a_part + b_part) ** 2 / parts if parts > 1e-24 else min(a_count, b_count) - 1
    variance = a_part + b_part + shared
    return share, variance if variance > 1e-12 else 0.0, freedom, (a_count, b_count)


def _share_below(sample: NDArray, at: NDArray) -> NDArray:
    ordered = np.sort(sample)
    return (np.searchsorted(ordered, at, "left") + np.searchsorted(ordered, at, "right")) / (2 * ordered.size)


def _owners(
    a: NDArray, b: NDArray, first_animal: ArrayLike | None, second_animal: ArrayLike | None
) -> tuple[NDArray, NDArray, int]:
    """Animal numbers of both groups; each graft is an animal of its own where no animals are named."""
    if first_animal is None and second_animal is None:
        return np.arange(a.size), a.size + np.arange(b.size), a.size + b.size
    if first_animal is None or second_animal is None:
        raise AuditError("animals are named in one of the two groups", "name them in both, or in neither")
    named = [checked.names(group, "animal") for group in (first_animal, second_animal)]
    for grades, names in zip((a, b), named, strict=True):
        checked.same_length(grades=grades, animal=names)
    owner = checked.animals(np.concatenate(named), a.size + b.size)
    return owner[: a.size], owner[a.size :], int(owner.max()) + 1


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
