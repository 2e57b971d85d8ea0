"""Permutation tests that move whole animals between two groups, from tallies of alike animals."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln

from audit.errors import EmptyGroup
from audit.stats import checked

ENUMERATE_UP_TO = 200_000


@dataclass(frozen=True, slots=True, eq=False)
class Swaps:
    """
    Ways to pick the first group: `picks[k, i]` animals of row i, with chance `chance[k]`.

    Exact when every way is listed; otherwise the ways are drawn at random, all with the same chance.
    """

    picks: NDArray[np.int64]
    chance: NDArray[np.float64]
    exact: bool

    def two_sided(self, statistics: NDArray, observed: float) -> float:
        """
        Chance of a statistic at least as far from zero as observed.

        Drawn ways count the observed one as one draw, so that p is never zero (Phipson B, Smyth GK. Stat Appl
        Genet Mol Biol 2010;9:39).
        """
        as_far = np.abs(statistics) >= abs(observed) - 1e-9 * max(1.0, abs(observed))
        if self.exact:
            return float(min(1.0, self.chance[as_far].sum()))
        return float((1 + as_far.sum()) / (1 + len(statistics)))

    @property
    def method(self) -> str:
        """How the ways were listed, in words for a caption."""
        return "exact permutation of animals" if self.exact else f"{len(self.chance):,} random permutations"


def swaps(weight: ArrayLike, chosen: int, *, rng: np.random.Generator, draws: int = 9_999) -> Swaps:
    """
    Ways to choose animals for the first group out of rows of alike animals, row i of `weight[i]`.

    Lists all ways with their hypergeometric chances when there are surely no more than 200,000, and draws at
    random otherwise: cost follows the number of distinct rows, not of animals. Raises EmptyGroup when a group
    would be empty.

    >>> ways = swaps([2, 2], 2, rng=np.random.default_rng(1))
    >>> ways.picks.tolist(), ways.chance.round(3).tolist()
    ([[0, 2], [1, 1], [2, 0]], [0.167, 0.667, 0.167])
    """
    row = checked.weights(weight, np.size(weight)).astype(np.int64)
    if not 0 < chosen < row.sum():
        raise EmptyGroup("one of the two groups has no animals", "there is nothing to compare")
    if not _few_enough(row, chosen):
        picks = rng.multivariate_hypergeometric(row, chosen, size=draws, method="marginals")
        return Swaps(picks, np.full(draws, 1 / draws), exact=False)
    picks = _every_way(row, chosen)
    log_chance = (gammaln(row + 1) - gammaln(picks + 1) - gammaln(row - picks + 1)).sum(axis=1)
    chance = np.exp(log_chance - log_chance.max())
    return Swaps(picks, chance / chance.sum(), exact=True)


def _few_enough(counts: NDArray, chosen: int) -> bool:
    """Whether a bound on the number of distinct picks is low enough: by rows, or by single animals."""
    total = counts.sum()
    by_row = np.log(np.minimum(counts, min(chosen, total - chosen)) + 1.0)
    by_row_free = by_row.sum() - by_row.max()
    by_animal = gammaln(total + 1) - gammaln(chosen + 1) - gammaln(total - chosen + 1)
    return bool(min(by_row_free, by_animal) <= np.log(ENUMERATE_UP_TO))


def _every_way(counts: NDArray, chosen: int) -> NDArray[np.int64]:
    picks = np.zeros((1, 0), dtype=np.int64)
    left_after = counts.sum() - np.cumsum(counts)
    for count, left in zip(counts, left_after, strict=True):
        missing = chosen - picks.sum(axis=1)
        lowest, highest = np.maximum(0, missing - left), np.minimum(count, missing)
        spread = highest - lowest + 1
        starts = np.repeat(np.cumsum(spread) - spread, spread)
        value = np.repeat(lowest, spread) + np.arange(spread.sum()) - starts
        picks = np.column_stack([np.repeat(picks, spread, axis=0), value])
    return picks
