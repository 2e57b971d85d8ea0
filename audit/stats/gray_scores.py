"""Gray's statistic from counts of cases by day, group and kind of leaving, and those counts with groups dealt anew."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def dealings(table: Array, draws: int, generator: np.random.Generator) -> Iterator[Array]:
    """The counts with groups dealt anew among the animals, their sizes kept."""
    days, groups, kinds = table.shape
    counts = np.rint(table).astype(np.int64)
    outcome = np.repeat(np.arange(days * kinds), counts.sum(axis=1).ravel())
    member = np.repeat(np.arange(groups), counts.sum(axis=(0, 2)))
    for _ in range(draws):
        place = outcome // kinds * groups * kinds + generator.permutation(member) * kinds + outcome % kinds
        yield np.bincount(place, minlength=table.size).reshape(table.shape).astype(float)


def gray_scores(table: Array) -> tuple[Array, float | None]:
    """Score of each group and chi-square (None: no variance), from counts (days, groups, in place / cause / other)."""
    risk = at_risk_by_day(table.sum(axis=2))
    left = table[:, :, 1:].any(axis=(1, 2))
    risk, own, other = risk[left], table[left, :, 1], table[left, :, 2]
    here = risk > 0
    safe = np.where(here, risk, 1.0)
    free = np.cumprod(1 - np.where(here, (own + other) / safe, 0.0), axis=0)
    before = np.vstack((np.ones(len(table[0])), free[:-1]))
    incidence = np.cumsum(before * own / safe, axis=0)
    begun = np.vstack((np.zeros(len(table[0])), incidence[:-1]))
    # Cases per share not yet left by any cause: the size of a group as if none had been lost.
    size = np.divide(risk, before, out=np.zeros_like(risk), where=here)
    total, events = size.sum(axis=1, keepdims=True), own.sum(axis=1, keepdims=True)
    open_size = size * (1 - begun)
    score = (own - events * open_size / open_size.sum(axis=1, keepdims=True)).sum(axis=0)

    pooled = np.cumsum(events / total, axis=0)
    if pooled[-1] >= 1:  # a group followed out before another drops out of the sum, which can then pass 1
        pooled = 1 - np.cumprod(1 - events / open_size.sum(axis=1, keepdims=True), axis=0)
    open_pooled = 1 - np.vstack(([[0.0]], pooled[:-1]))
    mixing = size[:, :, None] * (np.eye(size.shape[1]) - (size / total)[:, None, :])
    later = np.cumsum(mixing * (events / (total * open_pooled))[:, :, None], axis=0)
    later = later[-1] - later
    ratio = np.divide(1 - pooled, free, out=np.zeros_like(free), where=free > 0)
    share = np.divide(before, total * safe, out=np.zeros_like(free), where=here)
    own_variance = share * events * _without_ties(events, total * before)
    other_variance = (before / safe) ** 2 * other * _without_ties(other, risk)
    by_own = mixing + (1 - ratio)[:, None, :] * later
    by_other = ratio[:, None, :] * later
    covariance = np.einsum("tik,tjk,tk->ij", by_own, by_own, own_variance)
    covariance += np.einsum("tik,tjk,tk->ij", by_other, by_other, other_variance)
    if not np.isfinite(covariance).all() or np.linalg.eigvalsh(covariance[1:, 1:])[0] < 1e-9:
        return score, None
    return score, float(score[1:] @ np.linalg.solve(covariance[1:, 1:], score[1:]))


def _without_ties(events: Array, size: Array) -> Array:
    """Factor of a variance for several events a day, drawn without putting back."""
    events = np.broadcast_to(events, size.shape)
    return 1 - np.divide(events - 1, size - 1, out=np.zeros_like(size), where=(events > 1) & (size > 1))


def at_risk_by_day(counts: Array) -> Array:
    """Cases still under observation on each day, those of the day included."""
    return np.cumsum(counts[::-1], axis=0)[::-1]
