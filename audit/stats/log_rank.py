"""Log-rank test between groups where days are exact or right-censored, stratified if asked, from one tally of days."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtrc

from audit.errors import AuditError, EmptyGroup
from audit.results import TidyArrays
from audit.stats.tallies import day_table

BLOCK = 8_192  # distinct days at a time, so that the work stays in the processor's cache


@dataclass(frozen=True, slots=True, eq=False)
class LogRank(TidyArrays):
    """
    The test, with events observed in each group and expected if all groups had one curve.

    `covariance` is of observed minus expected; `p` is from chi-square, which takes each row for an animal.
    """

    group: NDArray[np.str_]
    observed: NDArray[np.float64]
    expected: NDArray[np.float64]
    covariance: NDArray[np.float64]
    chi_square: float
    df: int
    p: float


def log_rank(
    day: ArrayLike,
    is_event: ArrayLike,
    group: ArrayLike,
    *,
    stratum: ArrayLike | None = None,
    weight: ArrayLike | None = None,
) -> LogRank:
    """
    Log-rank test of two groups or more; rows of one day that end in an event count as at risk with all others of it.

    `stratum` compares groups only within its levels; whole-number `weight` tallies rows. Raises AuditError for fewer
    than two groups, a day that is missing or negative, or lengths that differ, EmptyGroup without an event.

    Mantel N. Cancer Chemother Rep 1966;50:163-170; Peto R, Peto J. J R Stat Soc A 1972;135:185-207.

    >>> test = log_rank([6, 7, 10, 13, 1, 2, 3, 4], [1, 1, 1, 0, 1, 1, 1, 1], list("aaaabbbb"))
    >>> round(test.chi_square, 2), test.df
    (7.34, 1)
    """
    days, event = np.asarray(day), np.asarray(is_event).astype(np.uint8)
    names, member = _coded(group)
    layer = np.zeros(len(days), dtype=np.int8) if stratum is None else _coded(stratum)[1]
    count = None if weight is None else np.asarray(weight, dtype=float)
    if not days.shape == event.shape == member.shape == layer.shape or (
        count is not None and count.shape != days.shape
    ):
        raise AuditError("day, event, group, stratum and weight differ in length; give one of each a row")
    if len(names) < 2:
        raise AuditError(f"all cases are in one group ({', '.join(names) or 'none'}); a comparison needs two groups")
    if not np.isfinite(days).all() or days.min() < 0:
        raise AuditError("a day is missing, infinite or before surgery; mend it or leave the case out by name")
    k = len(names)
    observed, expected, covariance = np.zeros(k), np.zeros(k), np.zeros((k, k))
    for level in range(int(layer.max()) + 1):
        mine = layer == level if stratum is not None else slice(None)
        parts = _stratum(days[mine], event[mine], member[mine], None if count is None else count[mine], k)
        for total, part in zip((observed, expected, covariance), parts, strict=True):
            total += part
    if not observed.sum():
        raise EmptyGroup("no case had the event; there is nothing to compare")
    score = (observed - expected)[:-1]
    chi_square = float(score @ np.linalg.pinv(covariance[:-1, :-1]) @ score)
    return LogRank(names, observed, expected, covariance, chi_square, k - 1, float(chdtrc(k - 1, chi_square)))


def _coded(values: ArrayLike) -> tuple[NDArray[np.str_], NDArray[np.integer]]:
    """The distinct values as words, and the place of each row's among them."""
    given = np.asarray(values)
    if np.issubdtype(given.dtype, np.integer) and len(given) and np.ptp(given) < len(given):
        # Numbered groups need no sort; small codes make the key of the tally cheap.
        low = given.min()
        place = given - low
        present = np.zeros(int(place.max()) + 1, dtype=bool)
        present[place] = True
        code = (np.cumsum(present) - 1).astype(np.min_scalar_type(2 * len(present)))
        return (np.flatnonzero(present) + low).astype(str), code[place]
    names, member = np.unique(given, return_inverse=True)
    return names.astype(str), member


def _stratum(
    days: NDArray, event: NDArray, member: NDArray, count: NDArray | None, k: int
) -> tuple[NDArray, NDArray, NDArray]:
    """Observed, expected and covariance of one stratum."""
    table = day_table(days, 2 * member + event, 2 * k, count)[1]
    observed, expected, covariance = np.zeros(k), np.zeros(k), np.zeros((k, k))
    later = np.zeros((k, 1))  # at risk beyond the block
    for begin in reversed(range(0, len(table), BLOCK)):
        block = np.ascontiguousarray(table[begin : begin + BLOCK].T).reshape(k, 2, -1)
        events, gone = block[:, 1], block[:, 0] + block[:, 1]
        at_risk = later + np.cumsum(gone[:, ::-1], axis=1)[:, ::-1]
        later = at_risk[:, :1]
        d, total = events.sum(axis=0), at_risk.sum(axis=0)
        observed += events.sum(axis=1)
        expected += at_risk @ (d / total)
        spread = d * (total - d) / (total**2 * np.maximum(total - 1, 1))
        covariance += np.diag(at_risk @ (spread * total)) - (at_risk * spread) @ at_risk.T
    return observed, expected, covariance
