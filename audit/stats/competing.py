"""Cumulative incidence of healing known only between two visits, where other exits end it on exact days."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from audit.errors import AuditError
from audit.results import Estimate, Span
from audit.stats.mixture import MixtureFit, maximise
from audit.stats.npmle import observed, undivided
from audit.stats.profile import METHOD, allowed_drop, limit

IN_PLACE, HEALED = 0, 1  # cause codes; 2 and above are exits


@dataclass(frozen=True, slots=True, eq=False)
class CompetingNpmle:
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


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """Cells by cause, and the merged observations with the cells that each may come from."""

    cause: np.ndarray
    start: np.ndarray
    end: np.ndarray
    cover: np.ndarray
    weight: np.ndarray


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
    problem = _problem(left, right, cause, weight)
    fit = maximise(problem.cover, problem.weight, np.zeros(len(problem.cause), dtype=int), np.ones(1))
    return _result(problem, fit)


def competing_share_interval(
    left: ArrayLike,
    right: ArrayLike,
    cause: ArrayLike,
    day: float,
    *,
    of: int = HEALED,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float = 1.0,
    unit: str = "animals",
) -> Estimate:
    """
    Share that left by cause `of` by the end of `day`, with its profile-likelihood interval.

    As `share_interval`, with the other exits counted as neither healed nor still to heal. `numerator` counts the
    cases that surely left by the cause, `unknown` those that the visits cannot tell. Raises as `competing_npmle`.
    """
    drop = allowed_drop(level, design_effect)
    curve = competing_npmle(left, right, cause, weight)
    problem = _problem(left, right, cause, weight, (of, day))
    early = (problem.cause == of) & (problem.end <= day)
    can_be = (bool(problem.cover[:, ~early].any(axis=1).all()), bool(problem.cover[:, early].any(axis=1).all()))
    last: list[MixtureFit] = []

    def profile(theta: float) -> Span:
        if theta in (0.0, 1.0) and not can_be[int(theta)]:
            return -np.inf, 0.0
        begin = last[-1].mass + 1e-3 / len(early) if last else None
        fit = maximise(problem.cover, problem.weight, early.astype(int), np.array([1 - theta, theta]), begin)
        last.append(fit)
        return fit.loglik, float(fit.slope[1] - fit.slope[0])

    value, value_to = curve.incidence(of, day)
    low, high = (
        limit(profile, best, curve.loglik, drop, side, None, curve.n) for side, best in ((0, value), (1, value_to))
    )
    low_end, high_end, code, count = _rows(left, right, cause, weight)
    sure = (code == of) & (high_end <= day)
    unknown = ((code == of) & (low_end <= day) & (high_end > day)) | ((code == IN_PLACE) & (low_end <= day))
    name = "healed" if of == HEALED else f"exit by cause {of}"
    return Estimate(
        quantity=f"share {name} by day {day:g}, other exits competing",
        value=value,
        value_to=value_to,
        low=low,
        high=high,
        level=level,
        method=METHOD,
        unit=unit,
        numerator=round(float(count[sure].sum())),
        denominator=curve.n,
        unknown=round(float(count[unknown].sum())),
        notes=() if value_to - value < 1e-9 else (f"the visits do not settle the share on day {day:g}",),
    )


def _rows(
    left: ArrayLike, right: ArrayLike, cause: ArrayLike, weight: ArrayLike | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Distinct observations as closed ranges [start, end], their causes, and how many cases each stands for."""
    code = np.asarray(cause)
    low = np.asarray(left, dtype=float)
    if code.shape != low.shape:
        raise AuditError(f"left and cause differ in length: {low.shape}, {code.shape}")
    high = np.where(code == IN_PLACE, np.inf, np.asarray(right, dtype=float))
    count = np.ones(low.shape) if weight is None else np.asarray(weight, dtype=float)
    if ((code < 0) | (code != np.round(code))).any():
        raise AuditError("a cause is not 0 (in place), 1 (healed) or a code of 2 and above (exits)")
    if ((code > HEALED) & (low != high)).any():
        raise AuditError("an exit needs its exact day; give the same day as left and right")
    if ((code == HEALED) & np.isinf(high)).any():
        raise AuditError("a healed case needs the visit that saw it healed as right day; else its cause is 0")
    seen = observed(low, high, count)
    table = np.column_stack((seen.start, seen.end, code[count > 0]))
    distinct, row = np.unique(table, axis=0, return_inverse=True)
    start, end, codes = distinct.T
    return start, end, codes.astype(int), np.bincount(row.ravel(), seen.weight)


def _problem(
    left: ArrayLike,
    right: ArrayLike,
    cause: ArrayLike,
    weight: ArrayLike | None,
    cut: tuple[int, float] | None = None,
) -> _Problem:
    """
    Where mass may lie: innermost healing intervals, each exit day, and beyond the last day of all.

    With `cut` = (cause, day) no interval lies across that day, and the cause may occur just up to it even if unseen.
    """
    start, end, code, count = _rows(left, right, cause, weight)
    healed, exit_row, waiting = code == HEALED, code > HEALED, code == IN_PLACE
    starts, ends = start[healed | waiting], end[healed]
    exits = np.unique(np.column_stack((code[exit_row], end[exit_row])), axis=0)
    if cut is not None and cut[0] == HEALED:
        starts = np.append(starts, [-np.inf, np.nextafter(cut[1], np.inf)])
        ends = np.append(ends, cut[1])
    elif cut is not None:
        exits = np.unique(np.vstack((exits, cut)), axis=0)
    heal_start, heal_end = undivided(starts, ends) if len(ends) else (np.empty(0), np.empty(0))
    beyond = start[waiting].max(initial=-np.inf) if waiting.any() else np.inf
    cell_cause = np.concatenate((np.full(len(heal_start), HEALED), exits[:, 0].astype(int), [IN_PLACE]))
    cell_start = np.concatenate((heal_start, exits[:, 1], [beyond]))
    cell_end = np.concatenate((heal_end, exits[:, 1], [np.inf]))
    inside = (cell_start >= start[:, None]) & (cell_end <= end[:, None])
    cover = inside & (waiting[:, None] | (cell_cause == code[:, None]))
    return _Problem(cell_cause, cell_start, cell_end, cover.astype(float), count)


def _result(problem: _Problem, fit: MixtureFit) -> CompetingNpmle:
    exact = problem.start == problem.end
    return CompetingNpmle(
        cause=problem.cause,
        left=np.where(exact, problem.start, np.nextafter(problem.start, -np.inf)),
        right=problem.end,
        exact=exact,
        mass=fit.mass,
        loglik=fit.loglik,
        kkt_gap=fit.gap,
        n=round(float(problem.weight.sum())),
        iterations=fit.iterations,
    )
