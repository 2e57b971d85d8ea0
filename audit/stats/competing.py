"""Cumulative incidence of healing known only between two visits, where other exits end it on exact days."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from audit.errors import AuditError
from audit.results import Estimate, Span, TidyArrays
from audit.stats import checked
from audit.stats.mixture import MixtureFit, maximise
from audit.stats.npmle import observed, undivided
from audit.stats.profile import Band, ByDay, Profile, allowance, profiled_band, profiled_quantile, profiled_share

IN_PLACE, HEALED = 0, 1  # cause codes; 2 and above are exits


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CompetingNpmle(TidyArrays):
    """
    The estimate: mass[j] leaves by cause[j] in (left[j], right[j]], or on the day right[j] where exact[j].

    Cause 1 is healing, 2 and above are exits; cause 0 is what no case was followed long enough to see. `kkt_gap`
    bounds the log-likelihood still to be gained; `n` counts cases.
    """

    cause: np.ndarray
    left: np.ndarray
    right: np.ndarray
    exact: np.ndarray
    mass: np.ndarray
    loglik: float
    kkt_gap: float
    n: int
    iterations: int

    def incidence(self, cause: int, day: float) -> Span:
        """Least and greatest share that left by `cause` by the end of `day`, among all who started."""
        done, begun = self.right <= day, np.where(self.exact, self.left <= day, self.left < day)
        mine = self.cause == cause
        open_end = begun & (self.cause == IN_PLACE)
        return float(self.mass[mine & done].sum()), min(float(self.mass[(mine & begun) | open_end].sum()), 1.0)

    def event_free(self, day: float) -> Span:
        """Least and greatest share neither healed nor gone by the end of `day`."""
        done, begun = self.right <= day, np.where(self.exact, self.left <= day, self.left < day)
        return max(1 - float(self.mass[begun].sum()), 0.0), max(1 - float(self.mass[done].sum()), 0.0)


def competing_npmle(
    left: ArrayLike, right: ArrayLike, cause: ArrayLike, weight: ArrayLike | None = None
) -> CompetingNpmle:
    """
    Sub-distributions of healing and of each other exit, at the maximum of the likelihood.

    `cause` is 1 for healing in (left, right] (exact where they are equal), 2 and above for an exit on the exact day
    left = right, 0 for a case still unhealed and in place on day `left` (its right end is not read). Exits leave
    before those last seen the same day. Rows may be tallied by `weight`. Equals Aalen-Johansen where healing is
    exact, and `npmle` where healing is the only cause. Raises as `npmle`, and AuditError where an exit has no exact
    day or a healing no right end.

    Hudgens MG, Satten GA, Longini IM. Biometrics 2001;57:74-80 (estimator).

    >>> curve = competing_npmle([7, 14, 10, 21], [14, 21, 10, float("inf")], [1, 1, 2, 0])
    >>> curve.incidence(1, 21), curve.incidence(2, 21)
    ((0.5, 0.5), (0.25, 0.25))
    """
    return _fitted(_rows(left, right, cause, weight))


def competing_share_interval(
    left: ArrayLike,
    right: ArrayLike,
    cause: ArrayLike,
    day: float,
    *,
    of: int = HEALED,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float | ByDay = 1.0,
    degrees: float = np.inf,
    unit: str = "animals",
) -> Estimate:
    """
    Share that left by cause `of` by the end of `day`, with its profile-likelihood interval.

    As `share_interval`, but whoever left by another cause never will by this one. `numerator` counts the cases that
    surely left by it, `unknown` those that the visits cannot tell. Raises as `competing_npmle`.
    """
    curve = _Incidence.of_cause(left, right, cause, of, weight)
    rows, day = curve.rows, checked.a_day(day)
    sure = (rows.cause == of) & (rows.end <= day)
    unknown = ((rows.cause == of) | (rows.cause == IN_PLACE)) & (rows.start <= day) & (rows.end > day)
    counts = round(float(rows.weight[sure].sum())), round(float(rows.weight[unknown].sum()))
    quantity = f"share {_verb(of)} by day {day:g}, other exits competing"
    return profiled_share(curve, day, counts, quantity, unit, allowance(level, design_effect, degrees))


def competing_band(
    left: ArrayLike,
    right: ArrayLike,
    cause: ArrayLike,
    days: ArrayLike,
    *,
    of: int = HEALED,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float | ByDay = 1.0,
    degrees: float = np.inf,
) -> Band:
    """Limits of `competing_share_interval` on each of `days`, each for itself."""
    return profiled_band(
        _Incidence.of_cause(left, right, cause, of, weight), days, allowance(level, design_effect, degrees)
    )


def competing_quantile_interval(
    left: ArrayLike,
    right: ArrayLike,
    cause: ArrayLike,
    p: float,
    *,
    of: int = HEALED,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float | ByDay = 1.0,
    degrees: float = np.inf,
    unit: str = "animals",
) -> Estimate:
    """Day by which a share `p` of all who started has left by cause `of`; None where exits leave too few."""
    curve = _Incidence.of_cause(left, right, cause, of, weight)
    return profiled_quantile(curve, p, _verb(of), unit, allowance(level, design_effect, degrees))


def _verb(of: int) -> str:
    return "healed" if of == HEALED else f"left by cause {of}"


class _Rows(NamedTuple):
    """Distinct observations as closed ranges [start, end], their causes, and how many cases each stands for."""

    start: np.ndarray
    end: np.ndarray
    cause: np.ndarray
    weight: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Where mass may lie, and cover[i, j] = 1 where observation i may come from cell j."""

    cause: np.ndarray
    start: np.ndarray
    end: np.ndarray
    cover: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Incidence:
    rows: _Rows
    fit: CompetingNpmle
    of: int
    n: int
    loglik: float
    days: np.ndarray

    @classmethod
    def of_cause(
        cls, left: ArrayLike, right: ArrayLike, cause: ArrayLike, of: int, weight: ArrayLike | None
    ) -> "_Incidence":
        if of < HEALED:
            raise AuditError(f"cause {of} is no way to leave", "ask for 1 (healed) or the code of an exit")
        code = checked.numbers(cause, "cause")
        other = (code > HEALED) & (code != of)  # how the other exits divide says nothing about this cause
        rows = _rows(left, right, np.where(other, of + 1, code), weight)
        fit = _fitted(rows)
        days = np.concatenate((np.asarray(left, dtype=float), rows.end[np.isfinite(rows.end)], [0.0]))
        return cls(rows, fit, of, fit.n, fit.loglik, np.unique(days))

    def share(self, day: float) -> Span:
        return self.fit.incidence(self.of, day)

    def profile(self, day: float) -> Profile:
        cells = _cells(self.rows, (self.of, day))
        early = (cells.cause == self.of) & (cells.end <= day)
        possible = {
            0.0: bool(cells.cover[:, ~early].any(axis=1).all()),
            1.0: bool(cells.cover[:, early].any(axis=1).all()),
        }
        last: list[MixtureFit] = []

        def through(theta: float) -> Span:
            if not possible.get(theta, True):
                return -np.inf, 0.0
            begin = last.pop().mass + 1e-3 / len(early) if last else None
            total = np.array([1 - theta, theta])
            last.append(maximise(cells.cover, self.rows.weight, early.astype(int), total, begin))
            return last[0].loglik, float(last[0].slope[1] - last[0].slope[0])

        return through


def _rows(left: ArrayLike, right: ArrayLike, cause: ArrayLike, weight: ArrayLike | None) -> _Rows:
    code, low = checked.numbers(cause, "cause"), checked.days(left, "left day")
    ends = checked.as_numbers(right, "right day")
    checked.same_length(left=low, right=ends, cause=code)
    high = np.where(code == IN_PLACE, np.inf, ends)
    count = checked.weights(weight, len(low))
    if ((code < 0) | (code != np.round(code))).any():
        raise AuditError("a cause is not 0 (in place), 1 (healed) or a code of 2 and above (exits)", "mend the cause")
    if ((code > HEALED) & (low != high)).any():
        raise AuditError("an exit needs its exact day", "give the same day as left and right")
    if ((code == HEALED) & np.isinf(high)).any():
        raise AuditError("a healed case needs the visit that saw it healed as right day", "else its cause is 0")
    seen = observed(low, high, count)
    table = np.column_stack((seen.start, seen.end, code[count > 0]))
    distinct, row = np.unique(table, axis=0, return_inverse=True)
    start, end, codes = distinct.T
    return _Rows(start, end, codes.astype(int), np.bincount(row.ravel(), seen.weight))


def _cells(rows: _Rows, cut: tuple[int, float] | None = None) -> _Cells:
    """
    Innermost healing intervals, each exit day, and what lies beyond the last day of those still in place.

    With `cut` = (cause, day) no interval lies across that day, and the cause may occur just up to it even if unseen.
    """
    healed, waiting = rows.cause == HEALED, rows.cause == IN_PLACE
    left_by = ~(healed | waiting)
    starts, ends = rows.start[healed | waiting], rows.end[healed]
    exits = np.column_stack((rows.cause[left_by], rows.end[left_by]))
    if cut is not None and cut[0] == HEALED:
        starts = np.append(starts, [-np.inf, np.nextafter(cut[1], np.inf)])
        ends = np.append(ends, cut[1])
    elif cut is not None:
        exits = np.vstack((exits, cut))
    exits = np.unique(exits, axis=0)
    heal_start, heal_end = undivided(starts, ends) if len(ends) else (np.empty(0), np.empty(0))
    beyond = rows.start[waiting].max() if waiting.any() else np.inf
    cause = np.concatenate((np.full(len(heal_start), HEALED), exits[:, 0].astype(int), [IN_PLACE]))
    start = np.concatenate((heal_start, exits[:, 1], [beyond]))
    end = np.concatenate((heal_end, exits[:, 1], [np.inf]))
    inside = (start >= rows.start[:, None]) & (end <= rows.end[:, None])
    cover = inside & (waiting[:, None] | (cause == rows.cause[:, None]))
    return _Cells(cause, start, end, cover.astype(float))


def _fitted(rows: _Rows) -> CompetingNpmle:
    cells = _cells(rows)
    fit = maximise(cells.cover, rows.weight, np.zeros(len(cells.cause), dtype=int), np.ones(1))
    exact = cells.start == cells.end
    return CompetingNpmle(
        cause=cells.cause,
        left=np.where(exact, cells.start, np.nextafter(cells.start, -np.inf)),
        right=cells.end,
        exact=exact,
        mass=fit.mass,
        loglik=fit.loglik,
        kkt_gap=fit.gap,
        n=round(float(rows.weight.sum())),
        iterations=fit.iterations,
    )
