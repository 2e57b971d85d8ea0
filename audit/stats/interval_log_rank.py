"""
Log-rank test between groups for days known only between two visits, with a p-value by permutation of animals.

For a coming verb: between two periods or practices (compare).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtrc

from audit.errors import AuditError, TooFewData
from audit.results import Tidy
from audit.stats import checked
from audit.stats.npmle import innermost, maximise, observed

if TYPE_CHECKING:
    import pandas as pd

BLOCK = 500  # permutations held in memory at once


@dataclass(frozen=True, slots=True, kw_only=True)
class IntervalLogRank(Tidy):
    """
    The test and what it rests on.

    `scores` are the sums of scores a group, in the order of `groups`: above 0 where more healed sooner than all groups
    together. `p` is the permutation p-value (None without draws), `p_normal` that of chi-square with `df` degrees,
    which takes each row for an animal.
    """

    groups: tuple[str, ...]
    cases: tuple[int, ...]
    scores: tuple[float, ...]
    chi_square: float
    df: int
    p: float | None
    p_normal: float
    draws: int
    animals: int
    method: str

    @property
    def frame(self) -> "pd.DataFrame":
        """One row a group: group, cases, score, and on each row chi_square, df, p, p_normal, method, animals."""
        import pandas as pd

        whole = ("chi_square", "df", "p", "p_normal", "method", "animals")
        groups = {"group": self.groups, "cases": self.cases, "score": self.scores}
        return pd.DataFrame(groups).assign(**{name: getattr(self, name) for name in whole})


def interval_log_rank(
    left: ArrayLike,
    right: ArrayLike,
    group: ArrayLike,
    rng: np.random.Generator,
    *,
    animal: ArrayLike | None = None,
    draws: int = 9999,
    fewest_animals: int = 10,
) -> IntervalLogRank:
    """
    Generalised log-rank test between groups, from days known to lie in (left, right], one row a case.

    Groups are permuted among the animals that belong to one group, and within each animal that belongs to several,
    so that cases of one animal need not be independent. Only sound where visits are kept alike in all groups. Raises
    as `npmle`, AuditError for fewer than two groups, TooFewData under `fewest_animals`.

    Sun J. Stat Med 1996;15:1387-1395 (scores); Fay MP, Shaw PA. J Stat Softw 2010;36(2):1-34 (permutation form).
    """
    observed(left, right)
    labels = checked.names(group, "group")
    checked.same_length(left=checked.as_numbers(left, "left day"), group=labels)
    values, member = np.unique(labels, return_inverse=True)
    names, order = np.unique(values.astype(str), return_inverse=True)
    code = order[member]
    if len(names) < 2:
        raise AuditError(f"all cases are in group {str(names[0])!r}", "a comparison needs two groups")
    owner = checked.animals(animal, len(code))
    animals = int(owner.max()) + 1
    if animals < fewest_animals:
        raise TooFewData(
            f"{animals} animals are too few to compare curves (at least {fewest_animals})", "show the cases"
        )
    score = sun_scores(left, right)
    spread = float(score @ score) / (len(score) - 1)
    apart = _statistic(score, code[None, :], len(names))[0]
    extreme = sum(
        int((_statistic(score, permuted, len(names)) >= apart * (1 - 1e-9)).sum())
        for permuted in _permutations(code, owner, draws, rng)
    )
    chi_square, df = (apart / spread if spread > 0 else 0.0), len(names) - 1
    return IntervalLogRank(
        groups=tuple(names.tolist()),
        cases=tuple(np.bincount(code).tolist()),
        scores=tuple(np.bincount(code, score).tolist()),
        chi_square=chi_square,
        df=df,
        p=(extreme + 1) / (draws + 1) if draws else None,
        p_normal=float(chdtrc(df, chi_square)),
        draws=draws,
        animals=animals,
        method="log-rank for interval-censored days (Sun's scores), permutation of animals",
    )


def sun_scores(left: ArrayLike, right: ArrayLike) -> np.ndarray:
    """Score of each row, 0 on average: 1 less the cumulative hazard where the day is exact, as in the log-rank test."""
    seen = observed(left, right)
    cells = innermost(seen)
    mass = maximise(cells).mass
    still_open = np.maximum(1 - np.concatenate(([0.0], np.cumsum(mass))), 0.0)
    hazard = np.divide(mass, still_open[:-1], out=np.zeros_like(mass), where=still_open[:-1] > 1e-12)
    open_log = still_open * np.concatenate(([0.0], np.cumsum(hazard)))
    first = np.searchsorted(cells.start, seen.start)
    stop = np.searchsorted(cells.end, seen.end, side="right")
    score = (open_log[stop] - open_log[first]) / (still_open[first] - still_open[stop])
    return score - score.mean()


def _statistic(score: np.ndarray, codes: np.ndarray, groups: int) -> np.ndarray:
    """Sum over groups of (sum of scores) squared / cases, for each row of group codes."""
    total = np.zeros(len(codes))
    for k in range(groups):
        mine = codes == k
        total += (mine @ score) ** 2 / np.maximum(mine.sum(axis=1), 1)
    return total


def _permutations(code: np.ndarray, owner: np.ndarray, draws: int, rng: np.random.Generator) -> Iterator[np.ndarray]:
    count = int(owner.max()) + 1
    whole = np.zeros(count, dtype=code.dtype)
    whole[owner] = code
    mixed = np.unique(owner[code != whole[owner]])  # animals with cases in several groups
    one_group = np.setdiff1d(np.arange(count), mixed)
    for begin in range(0, draws, BLOCK):
        labels = np.tile(whole, (min(BLOCK, draws - begin), 1))
        labels[:, one_group] = rng.permuted(labels[:, one_group], axis=1)
        permuted = labels[:, owner]
        for who in mixed:
            rows = np.flatnonzero(owner == who)
            permuted[:, rows] = rng.permuted(np.tile(code[rows], (len(permuted), 1)), axis=1)
        yield permuted
