"""Shift between two groups on a scale with equal steps, such as an owner's 0 to 10: Hodges-Lehmann."""

from math import comb, floor, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm

from audit.errors import EmptyGroup
from audit.results import Estimate
from audit.stats import checked

EXACT_BELOW = 50


def hodges_lehmann(
    first: ArrayLike, second: ArrayLike, *, quantity: str = "shift of the score", level: float = 0.95
) -> Estimate:
    """
    Median of all differences first minus second, with the interval that the rank-sum test leaves open.

    One score an animal. Under 50 in both groups the interval is from the exact distribution without ties, which with
    ties covers at least as often as it says; otherwise from the tie-corrected normal one. Groups too small to
    reach the level have no interval. Hodges JL, Lehmann EL. Ann Math Stat 1963;34:598-611.

    >>> hodges_lehmann([5, 7, 8, 9], [3, 4, 4, 6]).value
    3.0
    """
    checked.level(level)
    a, b = (checked.numbers(group, "score") for group in (first, second))
    if not a.size or not b.size:
        raise EmptyGroup("one of the two groups has no scores", "there is nothing to compare")
    differences, reached = _differences(a, b)
    outside, method = _outside(a, b, (1 - level) / 2)
    pairs = a.size * b.size

    def at(place: int) -> float:
        return float(differences[np.searchsorted(reached, place)])

    median = (at((pairs + 1) // 2) + at(pairs // 2 + 1)) / 2
    return Estimate(
        quantity=quantity,
        value=median,
        value_to=median,
        low=at(outside) if outside else None,
        high=at(pairs + 1 - outside) if outside else None,
        level=level,
        method=method,
        unit="animals",
        denominator=a.size + b.size,
        animals=a.size + b.size,
        notes=() if outside else (f"groups of {a.size} and {b.size} are too small for an interval at this level",),
    )


def _differences(a: NDArray, b: NDArray) -> tuple[NDArray, NDArray]:
    """Distinct differences in order, and how many pairs lie at or below each."""
    (a_value, a_count), (b_value, b_count) = (np.unique(x, return_counts=True) for x in (a, b))
    # Rounding joins differences that are equal but for the last digit.
    every = np.round(np.subtract.outer(a_value, b_value), 10).ravel()
    value, place = np.unique(every, return_inverse=True)
    return value, np.cumsum(np.bincount(place, np.outer(a_count, b_count).ravel()))


def _outside(a: NDArray, b: NDArray, tail: float) -> tuple[int, str]:
    """Place of the lower limit among the ordered differences; 0 where the level cannot be reached."""
    m, n = a.size, b.size
    if max(m, n) < EXACT_BELOW:
        below = np.cumsum(_rank_sum_chances(m, n))
        return int(np.searchsorted(below, tail)), "Hodges-Lehmann, exact"
    _, tied = np.unique(np.concatenate([a, b]), return_counts=True)
    total = m + n
    variance = m * n / 12 * (total + 1 - float((tied.astype(float) ** 3 - tied).sum()) / (total * (total - 1)))
    return max(0, floor(m * n / 2 - norm.isf(tail) * sqrt(variance))), "Hodges-Lehmann, normal with ties"


def _rank_sum_chances(m: int, n: int) -> NDArray[np.float64]:
    """Chance of each Mann-Whitney count from 0 to m n without ties: ways to choose m places, by their excess."""
    ways = np.zeros((m + 1, m * n + 1))
    ways[0, 0] = 1
    for place in range(m + n):
        for chosen in range(min(m, place + 1), 0, -1):
            excess = place - chosen + 1
            if excess <= n:
                ways[chosen, excess:] += ways[chosen - 1, : m * n + 1 - excess]
    return ways[m] / comb(m + n, m)
