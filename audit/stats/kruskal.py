"""Several groups of ordinal grades: Kruskal-Wallis with ties, by permutation of animals, and Dunn's pairs."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import chi2, kruskal, norm, rankdata, tiecorrect
from statsmodels.stats.multitest import multipletests

from audit.errors import AuditError, EmptyGroup
from audit.results import TidyRow
from audit.stats import checked

PERMUTE_UP_TO = 2_000
BLOCK = 500


@dataclass(frozen=True, slots=True)
class RankTest(TidyRow):
    """Kruskal-Wallis H corrected for ties, its degrees of freedom, p, and how p was computed."""

    statistic: float
    degrees_of_freedom: int
    p: float
    method: str


@dataclass(frozen=True, slots=True)
class DunnPair(TidyRow):
    """Two groups by number: z of first minus second mean rank, its p, and p after Holm over all pairs."""

    first: int
    second: int
    z: float
    p: float
    p_holm: float


def kruskal_wallis(
    groups: Sequence[ArrayLike],
    *,
    animal: Sequence[ArrayLike] | None = None,
    rng: np.random.Generator,
    draws: int = 9_999,
) -> RankTest:
    """
    Whether grades differ between groups at all. All grades alike give H of 0 and p of 1.

    `animal` names the animal of each graft; whole animals change groups. Up to 2,000 animals p is by permutation,
    beyond by chi-square, which needs one graft an animal. Raises AuditError where an animal is in two groups.
    H is scipy's; its p takes grafts for animals, so the permutation is our own. Kruskal WH, Wallis WA. JASA
    1952;47:583-621.

    >>> test = kruskal_wallis([[1, 2, 2], [3, 4, 4], [2, 3, 3]], rng=np.random.default_rng(1))
    >>> round(test.statistic, 2), test.p < 0.05
    (6.15, True)
    """
    ranks, label = _ranks(groups)
    if animal is None:
        owner = np.arange(len(ranks))
    else:
        checked.same_length(groups=groups, animal=animal)
        named = [checked.names(names, "animal") for names in animal]
        for grades, names in zip(groups, named, strict=True):
            checked.same_length(grades=np.asarray(grades), animal=names)
        owner = checked.animals(np.concatenate(named), len(ranks))
    clusters = int(owner.max()) + 1
    rank_sum, size = np.bincount(owner, ranks), np.bincount(owner)
    home = np.zeros(clusters, dtype=np.int64)
    home[owner] = label
    if (home[owner] != label).any():
        raise AuditError(
            "an animal has grafts in two groups, so animals cannot change groups", "compare one graft each"
        )
    freedom = len(groups) - 1
    observed = float(kruskal(*groups).statistic) if np.ptp(ranks) else 0.0
    if clusters > PERMUTE_UP_TO and clusters == len(ranks):
        return RankTest(observed, freedom, float(chi2.sf(observed, freedom)), "chi-square")
    apart, as_far = _between(home[None], rank_sum, size, len(groups))[0], 0
    for start in range(0, draws, BLOCK):
        homes = rng.permuted(np.tile(home, (min(BLOCK, draws - start), 1)), axis=1)
        as_far += int((_between(homes, rank_sum, size, len(groups)) >= apart * (1 - 1e-9)).sum())
    return RankTest(observed, freedom, (1 + as_far) / (1 + draws), f"{draws:,} random permutations of animals")


def dunn_pairs(groups: Sequence[ArrayLike]) -> tuple[DunnPair, ...]:
    """
    All pairs of groups by Dunn's test with ties, and Holm's correction; two-sided, one graft an animal.

    Dunn OJ. Technometrics 1964;6:241-252; Holm S. Scand J Stat 1979;6:65-70.
    """
    ranks, label = _ranks(groups)
    n, size = len(ranks), np.bincount(label)
    mean = np.bincount(label, ranks) / size
    spread = n * (n + 1) / 12 * tiecorrect(ranks)
    pairs = list(combinations(range(len(groups)), 2))
    z = [float(mean[i] - mean[j]) / sqrt(spread * (1 / size[i] + 1 / size[j])) if spread > 0 else 0.0 for i, j in pairs]
    p = 2 * norm.sf(np.abs(z))
    holm = multipletests(p, method="holm")[1]
    return tuple(
        DunnPair(i, j, z_ij, float(p_ij), float(holm_ij))
        for (i, j), z_ij, p_ij, holm_ij in zip(pairs, z, p, holm, strict=True)
    )


def _ranks(groups: Sequence[ArrayLike]) -> tuple[NDArray, NDArray]:
    samples = [checked.numbers(group, "grade") for group in groups]
    if len(samples) < 2 or not all(sample.size for sample in samples):
        raise EmptyGroup("fewer than two groups, or a group without grades", "leave the empty ones out")
    return rankdata(np.concatenate(samples)), np.repeat(np.arange(len(samples)), [sample.size for sample in samples])


def _between(homes: NDArray, rank_sum: NDArray, size: NDArray, groups: int) -> NDArray:
    """Squared distances of the groups' mean ranks from the overall mean, weighted by grafts; a value for each row."""
    middle = (size.sum() + 1) / 2
    total = np.zeros(len(homes))
    for group in range(groups):
        here = homes == group
        grafts = here @ size
        total += (here @ rank_sum - grafts * middle) ** 2 / grafts
    return total
