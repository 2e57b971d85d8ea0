"""
The nonparametric maximum-likelihood healing curve for days known only between two visits (Turnbull's estimate).

For a coming verb: rows tallied by `weight`, of several practices (pool).
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import isotonic_regression

from audit.errors import AuditError
from audit.results import Span, TidyArrays
from audit.stats import checked

SETTLED = 1e-6  # shares nearer than this are the same share, as the steps end a little short of the maximum


class Intervals(NamedTuple):
    """Observed days as closed ranges [start, end]: (left, right] starts at the next number after left, as healing
    on the left day itself is excluded; an exact day starts and ends on itself."""

    start: np.ndarray
    end: np.ndarray
    weight: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """
    Innermost intervals [start, end], and the observations as runs of them.

    Observation i covers cells first[i] to stop[i] - 1 and stands for weight[i] cases; equal runs are merged.
    """

    start: np.ndarray
    end: np.ndarray
    first: np.ndarray
    stop: np.ndarray
    weight: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """
    Masses at the maximum, with the proof of it.

    `gap` bounds what is left to gain in log-likelihood. `slope` holds the greatest gradient before and after the
    pinned cell boundary (equal to the weight in all where nothing is pinned).
    """

    mass: np.ndarray
    loglik: float
    gap: float
    slope: Span
    iterations: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Npmle(TidyArrays):
    """
    The estimate: mass[j] heals in (left[j], right[j]], or on the day right[j] where exact[j].

    Where in an innermost interval its mass lies, no data can tell. A right end of infinity: not seen to heal.
    `kkt_gap` bounds the log-likelihood still to be gained; `n` counts cases.
    """

    left: np.ndarray
    right: np.ndarray
    exact: np.ndarray
    mass: np.ndarray
    loglik: float
    kkt_gap: float
    n: int
    iterations: int

    def share(self, day: float) -> Span:
        """Least and greatest share healed by the end of `day` that the estimate allows."""
        begun = np.where(self.exact, self.left <= day, self.left < day)
        return float(self.mass[self.right <= day].sum()), min(float(self.mass[begun].sum()), 1.0)


def npmle(left: ArrayLike, right: ArrayLike, weight: ArrayLike | None = None) -> Npmle:
    """
    Healing curve from days known to lie in (left, right]; right = inf: not seen healed; left = right: exact.

    Rows may be tallied: `weight` says for how many cases each stands. Equals the Kaplan-Meier estimate where all
    days are exact or right-censored. Raises EmptyGroup without cases, AuditError for a day that is missing or before
    surgery, or a left end after its right end.

    Peto R. Appl Stat 1973;22:86-91 and Turnbull BW. J R Stat Soc B 1976;38:290-295 (the estimate); Wellner JA,
    Zhan Y. J Am Stat Assoc 1997;92:945-959 (the EM-ICM steps); Gentleman R, Geyer CJ. Biometrika 1994;81:618-623
    (the Kuhn-Tucker proof, without which a fixed point of the EM step may be no maximum).

    >>> curve = npmle([0, 14, 18, 21], [14, 21, 25, float("inf")])
    >>> curve.share(21)
    (0.625, 0.625)
    """
    cells = innermost(observed(left, right, weight))
    fit = maximise(cells)
    left_end, exact = cell_bounds(cells)
    return Npmle(
        left=left_end,
        right=cells.end,
        exact=exact,
        mass=fit.mass,
        loglik=fit.loglik,
        kkt_gap=fit.gap,
        n=int(cells.weight.sum()),
        iterations=fit.iterations,
    )


def observed(left: ArrayLike, right: ArrayLike, weight: ArrayLike | None = None) -> Intervals:
    """Checked observations as closed ranges; rows of weight 0 are left out. Raises as `npmle` does."""
    low, high = checked.days(left, "left day"), checked.numbers(right, "right day", low=0.0)
    checked.same_length(left=low, right=high)
    count = checked.weights(weight, len(low))
    if (low > high).any():
        row = int(np.argmax(low > high))
        raise AuditError(f"row {row}: left day {low[row]:g} lies after right day {high[row]:g}", "mend the visits")
    checked.not_empty(count.sum())
    kept = count > 0
    low, high, count = low[kept], high[kept], count[kept]
    return Intervals(np.where(low == high, low, np.nextafter(low, np.inf)), high, count)


def innermost(seen: Intervals, cut: float | None = None) -> Cells:
    """
    Innermost intervals, and each observation as a run of them; none lies across the day `cut`.

    A likelihood can only be raised by moving mass into the intersections that no other end divides.
    """
    seen = _counted(seen)
    starts, ends = seen.start, seen.end
    if cut is not None:
        starts = np.append(starts, [-np.inf, np.nextafter(cut, np.inf)])
        ends = np.append(ends, [cut, np.inf])
    start, end = undivided(starts, ends)
    first = np.searchsorted(start, seen.start)
    stop = np.searchsorted(end, seen.end, side="right")
    width = len(start) + 1
    key, row = np.unique(first * width + stop, return_inverse=True)
    return Cells(start, end, key // width, key % width, np.bincount(row, seen.weight))


def _counted(seen: Intervals) -> Intervals:
    """Equal rows as one, in a single pass without a sort, where days are whole and rows many; else rows as they are."""
    day, last = np.floor(seen.start), seen.end
    days = 2 + max(float(day.max()), float(last.max(where=last < np.inf, initial=0.0)))
    if days**2 > 2 * len(day):
        return seen
    after = seen.start > day
    until = np.minimum(last, days - 1)
    if (until != np.floor(until)).any() or (after & (seen.start != np.nextafter(day, np.inf))).any():
        return seen
    key = ((2 * day + after) * days + until).astype(np.int64)
    count = np.bincount(key, seen.weight)
    distinct = np.flatnonzero(count > 0)
    row = np.empty(len(count), dtype=np.int64)
    row[key] = np.arange(len(key))  # any row of a key stands for all
    row = row[distinct]
    return Intervals(seen.start[row], seen.end[row], count[distinct])


def undivided(starts: np.ndarray, ends: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Ranges from a start to the next end that no other start or end divides, in order."""
    starts, ends = np.unique(starts), np.unique(ends)
    last_start = np.searchsorted(starts, ends, side="right") - 1
    used, position = np.unique(last_start, return_index=True)
    return starts[used], ends[position]


def cell_bounds(cells: Cells) -> tuple[np.ndarray, np.ndarray]:
    """The open left end of each cell, and whether the cell is a single exact day."""
    exact = cells.start == cells.end
    return np.where(exact, cells.start, np.nextafter(cells.start, -np.inf)), exact


def maximise(
    cells: Cells,
    start: np.ndarray | None = None,
    pin: tuple[int, float] | None = None,
    *,
    precision: float | None = None,
    limit: int = 5000,
) -> Fit:
    """
    Masses that maximise the likelihood, by EM and ICM steps in turn.

    `pin` = (c, share) holds the total mass of the cells before c at that share. `start` holds masses to begin from,
    positive wherever the answer may be. Stops when the Kuhn-Tucker gap a case is at most `precision`, by default near
    the reach of double precision (or at 1e-6, after many steps); raises AuditError after `limit` steps.
    """
    m, n = len(cells.start), float(cells.weight.sum())
    c, share = pin if pin is not None else (0, 0.0)
    mass = _pinned(np.full(m, 1.0) if start is None else start, c, share)
    tolerance = n * (precision or (1e-10 if n < 1e5 else 1e-9))  # rounding reaches no further
    for iteration in range(limit):
        if iteration == limit // 10:
            tolerance = max(tolerance, 1e-6)
        height = np.concatenate(([0.0], np.cumsum(mass)))
        cover = _cover(cells, height)
        per_mass = cells.weight / cover
        gradient = np.cumsum(_at(cells.first, per_mass, m) - _at(cells.stop, per_mass, m))[:m]
        early, late = float(gradient[:c].max(initial=0.0)), float(gradient[c:].max(initial=0.0))
        gap = share * early + (1 - share) * late - n
        if gap <= tolerance:
            loglik = float(cells.weight @ np.log(cover))
            return Fit(mass, loglik, max(gap, 0.0), (early, late), iteration)
        mass = _icm_step(cells, _pinned(mass * gradient, c, share), c, share)
    raise AuditError(f"the healing curve was not settled in {limit} steps (gap {gap:.2g})", "please report this data")


def _cover(cells: Cells, height: np.ndarray) -> np.ndarray:
    """Mass that each observation covers, kept above the rounding of the curve's heights."""
    return np.maximum(height[cells.stop] - height[cells.first], 1e-16)


def _at(index: np.ndarray, value: np.ndarray, m: int) -> np.ndarray:
    return np.bincount(index, value, minlength=m + 1)


def _pinned(mass: np.ndarray, c: int, share: float) -> np.ndarray:
    scaled = mass.copy()
    for part, total in ((scaled[:c], share), (scaled[c:], 1 - share)):
        held = part.sum()
        part[:] = part * (total / held) if held > 0 else total / max(len(part), 1)
    return scaled


def _icm_step(cells: Cells, mass: np.ndarray, c: int, share: float) -> np.ndarray:
    """One step of the iterative convex minorant on the curve's heights, halved until the likelihood rises."""
    m = len(mass)
    height = np.concatenate(([0.0], np.cumsum(mass)))
    cover = _cover(cells, height)
    loglik = cells.weight @ np.log(cover)
    per_mass = cells.weight / cover
    slope = _at(cells.stop, per_mass, m) - _at(cells.first, per_mass, m)
    curvature = _at(cells.stop, per_mass / cover, m) + _at(cells.first, per_mass / cover, m)
    aim = height.copy()
    for begin, end, low, high in ((1, c, 0.0, share), (max(c + 1, 1), m, share, 1.0)):
        if end > begin:
            weight = curvature[begin:end]
            nearest = isotonic_regression(height[begin:end] + slope[begin:end] / weight, weights=weight).x
            aim[begin:end] = nearest.clip(low, high)
    step = aim - height
    gain = float(slope @ step)
    for _ in range(40):
        cover = _cover(cells, height + step)
        if cells.weight @ np.log(cover) >= loglik + 1e-4 * gain:
            return np.maximum(np.diff(height + step), 0.0)
        step, gain = step / 2, gain / 2
    return mass
