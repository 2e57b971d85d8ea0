"""Profile-likelihood intervals for the share healed by a day and for the day by which a share has healed."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, log, sqrt
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from audit.errors import AuditError
from audit.results import Estimate, Span
from audit.stats.npmle import Cells, Fit, Intervals, Npmle, climb, innermost, npmle, observed

METHOD = "profile likelihood"


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Pointwise limits of the share healed, one entry a day: the estimate lies in [value, value_to]."""

    days: np.ndarray
    value: np.ndarray
    value_to: np.ndarray
    low: np.ndarray
    high: np.ndarray
    level: float
    method: str


def share_interval(
    left: ArrayLike,
    right: ArrayLike,
    day: float,
    *,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float = 1.0,
    unit: str = "animals",
) -> Estimate:
    """
    Share healed by the end of `day`, from days known to lie in (left, right], with its profile-likelihood interval.

    The interval holds every share theta whose likelihood, maximised over all curves through theta on that day, falls
    short of the greatest by no more than chance allows: 2 (l_max - l(theta)) / design_effect <= chi-square, 1 df.
    Cases whose visits straddle the day widen it. `numerator` counts the cases surely healed, `unknown` those that
    the visits cannot tell. Raises as `npmle`, and AuditError for a level or design effect that makes no sense.

    Thomas DR, Grunkemeier GL. J Am Stat Assoc 1975;70:865-871 (right-censored days); Murphy SA, van der Vaart AW.
    J Am Stat Assoc 2000;95:449-465 (profile likelihood).

    >>> found = share_interval([0, 14, 18, 21], [14, 21, 25, float("inf")], 21)
    >>> round(found.value, 3), round(found.low, 3), round(found.high, 3)
    (0.625, 0.139, 0.973)
    """
    drop = allowed_drop(level, design_effect)
    seen = observed(left, right, weight)
    curve = npmle(left, right, weight)
    low, high = _limits(seen, curve, day, drop, (None, None))
    value, value_to = curve.share(day)
    sure = float(seen.weight[seen.end <= day].sum())
    unknown = float(seen.weight[(seen.start <= day) & (seen.end > day)].sum())
    notes = () if value_to - value < 1e-9 else (f"the visits do not settle the share on day {day:g}",)
    return Estimate(
        quantity=f"share healed by day {day:g}",
        value=value,
        value_to=value_to,
        low=low,
        high=high,
        level=level,
        method=METHOD,
        unit=unit,
        numerator=round(sure),
        denominator=curve.n,
        unknown=round(unknown),
        notes=notes,
    )


def band(
    left: ArrayLike,
    right: ArrayLike,
    days: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float = 1.0,
) -> Band:
    """Limits of `share_interval` on each of `days`: they hold for each day by itself, not for the whole curve."""
    drop = allowed_drop(level, design_effect)
    seen = observed(left, right, weight)
    curve = npmle(left, right, weight)
    at = np.asarray(days, dtype=float)
    found: dict[tuple[int, int], Span] = {}
    guess: tuple[float | None, float | None] = (None, None)
    starts, ends = np.sort(seen.start), np.sort(seen.end)
    rows = []
    for day in at:
        key = (int(np.searchsorted(starts, day, "right")), int(np.searchsorted(ends, day, "right")))
        if key not in found:  # days that no visit parts have the same limits
            found[key] = _limits(seen, curve, day, drop, guess)
            guess = found[key]
        rows.append((*curve.share(day), *found[key]))
    value, value_to, low, high = np.array(rows).reshape(-1, 4).T
    return Band(at, value, value_to, low, high, level, METHOD)


def quantile_interval(
    left: ArrayLike,
    right: ArrayLike,
    p: float,
    *,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float = 1.0,
    unit: str = "animals",
) -> Estimate:
    """
    Day by which a share `p` has healed: every day whose share healed has `p` in its profile-likelihood interval.

    `value_to` or `high` is None where the visits end before it: the day is then later than any seen. Raises as
    `share_interval`, and AuditError for a `p` outside (0, 1).
    """
    drop = allowed_drop(level, design_effect)
    seen = observed(left, right, weight)
    curve = npmle(left, right, weight)
    value, value_to = curve.quantile(p)
    ends = np.unique(np.concatenate(([0.0], np.asarray(left, dtype=float), seen.end[np.isfinite(seen.end)])))
    days = np.empty(2 * len(ends))  # every visit day, and a day between it and the next
    days[::2], days[1::2] = ends, np.append((ends[1:] + ends[:-1]) / 2, ends[-1] + 1)

    def beyond(day: float, side: int) -> bool:
        """Does the limit of the share on that day lie on the far side of p?"""
        share = curve.share(day)[side]
        if (share >= p) if side == 1 else (share <= p):
            return True
        cells = innermost(seen, day)
        return curve.loglik - climb(cells, pin=(_early(cells, day), p)).loglik <= drop

    first = _first(len(days), lambda i: beyond(days[i], 1))
    last = _first(len(days), lambda i: not beyond(days[i], 0)) - 1
    low = float(ends[first // 2])
    high = float(np.append(ends, inf)[(last + 1) // 2])
    notes = () if high < inf else (f"no upper limit: too few healed by day {ends[-1]:g}, the last on record",)
    return Estimate(
        quantity=f"day by which {p:.0%} have healed",
        value=value,
        value_to=value_to if value_to < inf else None,
        low=low,
        high=high if high < inf else None,
        level=level,
        method=f"{METHOD}, inverted",
        unit=unit,
        denominator=curve.n,
        notes=notes,
    )


def allowed_drop(level: float, design_effect: float) -> float:
    """How far the log-likelihood may fall inside the interval: half the chi-square quantile, times the effect."""
    if not 0 < level < 1:
        raise AuditError(f"a confidence level lies between 0 and 1, not at {level}")
    if not 1 <= design_effect < inf:
        raise AuditError(f"a design effect is at least 1, not {design_effect}; use 1 for one graft an animal")
    return NormalDist().inv_cdf((1 + level) / 2) ** 2 / 2 * design_effect


def limit(
    profile: Callable[[float], Span], best: float, loglik: float, drop: float, side: int, guess: float | None, n: float
) -> float:
    """
    The share below (side 0) or above (side 1) `best` at which the profile has fallen by `drop` from `loglik`.

    `profile(theta)` gives the log-likelihood and its slope. Newton's steps are taken for the root of the fall on the
    logit scale, where it is nearly a straight line, and kept inside a bracket.
    """
    edge = float(side)
    if best == edge or loglik - profile(edge)[0] <= drop:
        return edge
    inside, outside, target = best, edge, sqrt(2 * drop)
    theta = guess if guess is not None else best + (edge - best) * (1 - exp(-drop / n))
    for _ in range(60):
        if not min(inside, outside) < theta < max(inside, outside):
            theta = (inside + outside) / 2
        value, slope = profile(theta)
        root = sqrt(max(2 * (loglik - value), 0.0))
        if abs(root - target) < 1e-7 or abs(outside - inside) < 1e-10:
            break
        inside, outside = (theta, outside) if root < target else (inside, theta)
        pace = -slope * theta * (1 - theta) / root if root > 0 else 0.0
        theta = _expit(log(theta / (1 - theta)) + (target - root) / pace) if pace else -1.0
    return theta


def _expit(x: float) -> float:
    return 1 / (1 + exp(-x)) if x > -700 else 0.0


def _early(cells: Cells, day: float) -> int:
    return int(np.searchsorted(cells.end, day, side="right"))


def _limits(seen: Intervals, curve: Npmle, day: float, drop: float, guess: tuple[float | None, float | None]) -> Span:
    cells = innermost(seen, day)
    c = _early(cells, day)
    can_be = (bool((cells.stop > c).all()), bool((cells.first < c).all()))  # share 0: no case surely healed; share 1
    last: list[Fit] = []

    def profile(theta: float) -> Span:
        if theta in (0.0, 1.0) and not can_be[int(theta)]:
            return -inf, 0.0
        begin = last[-1].mass + 1e-3 / len(cells.start) if last else None
        fit = climb(cells, begin, (c, theta))
        last.append(fit)
        return fit.loglik, fit.slope[0] - fit.slope[1]

    best = curve.share(day)
    ends = [limit(profile, best[side], curve.loglik, drop, side, guess[side], curve.n) for side in (0, 1)]
    return ends[0], ends[1]


def _first(count: int, holds: Callable[[int], bool]) -> int:
    """The first of `count` places at which a condition holds that never ceases again; `count` if nowhere."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low
