"""Profile-likelihood intervals for the share healed by a day and for the day by which a share has healed."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, log, sqrt
from statistics import NormalDist
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from audit.errors import AuditError
from audit.results import Estimate, Span, TidyArrays
from audit.stats import checked
from audit.stats.npmle import SETTLED, Cells, Fit, Intervals, Npmle, innermost, maximise, npmle, observed

Profile = Callable[[float], Span]  # a share to the log-likelihood of the best curve through it, and its slope
ByDay = Callable[[float], float]


class Allowance(NamedTuple):
    """
    How far the log-likelihood may fall inside an interval of this level, and the name of that choice.

    `edge` is for the one limit of a share that is 0 or 1, where all of the chance lies on one side. Both are for
    independent cases, and `effect` multiplies them.
    """

    level: float
    drop: float
    edge: float
    effect: ByDay
    method: str

    def drops(self, day: float, best: Span) -> Span:
        """The fall allowed below and above the best share on a day."""
        effect = self.effect(day)
        low, high = best[0] >= 1 - SETTLED, best[1] <= SETTLED
        return effect * (self.edge if low else self.drop), effect * (self.edge if high else self.drop)


class Curve(Protocol):
    """A curve at its maximum whose shares can be profiled; `days` are the days between which nothing changes."""

    @property
    def n(self) -> int: ...

    @property
    def loglik(self) -> float: ...

    @property
    def days(self) -> np.ndarray: ...

    def share(self, day: float) -> Span: ...

    def profile(self, day: float) -> Profile: ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band(TidyArrays):
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
    design_effect: float | ByDay = 1.0,
    degrees: float = inf,
    unit: str = "animals",
) -> Estimate:
    """
    Share healed by the end of `day`, from days known to lie in (left, right], with its profile-likelihood interval.

    The interval holds every share theta whose likelihood, maximised over all curves through theta on that day, falls
    short of the greatest by no more than chance allows: 2 (l_max - l(theta)) / design_effect <= chi-square, 1 df, or
    F with (1, `degrees`) for few animals. Where none or all have healed, l_max - l(theta) <= -log(1 - level), which for
    n cases seen to the end gives the exact one-sided limit 1 - (1 - level) ** (1 / n); chi-square alone would miss a
    share just beyond its own limit in 0.15 of such practices, however large.
    Where animals have several cases give their `design_effect`, a number or the one of each day.
    Cases whose visits straddle the day widen it. `numerator` counts the cases surely healed, `unknown` those that
    the visits cannot tell. Raises as `npmle`, and AuditError for a level or design effect that makes no sense.

    Thomas DR, Grunkemeier GL. J Am Stat Assoc 1975;70:865-871 (right-censored days); Murphy SA, van der Vaart AW.
    J Am Stat Assoc 2000;95:449-465 (profile likelihood); Louis TA. Am Stat 1981;35:154 (none or all, from memory).

    >>> found = share_interval([0, 14, 18, 21], [14, 21, 25, float("inf")], 21)
    >>> round(found.value, 3), round(found.low, 3), round(found.high, 3)
    (0.625, 0.139, 0.973)
    """
    checked.a_day(day)
    curve = _HealingCurve.of(left, right, weight)
    seen = curve.seen
    sure, unknown = seen.end <= day, (seen.start <= day) & (seen.end > day)
    counts = round(float(seen.weight[sure].sum())), round(float(seen.weight[unknown].sum()))
    return profiled_share(
        curve, day, counts, f"share healed by day {day:g}", unit, allowance(level, design_effect, degrees)
    )


def design_effect_by_day(
    left: ArrayLike, right: ArrayLike, animal: ArrayLike, *, never: ArrayLike | None = None
) -> ByDay:
    """
    The design effect of the share healed by a day, for any day: the spread between animals over that between cases.

    `animal` names the animal of each row and `never` marks rows that left otherwise and never heal. Found as in
    `clustered_share` from the cases whose answer on the day is known: at least 1, and 1 where each animal has one case.

    >>> effect = design_effect_by_day([0, 0, 14, 14], [7, 7, 21, 21], ["rex", "rex", "luna", "luna"])
    >>> effect(10)
    4.0
    """
    start, end = checked.days(left, "left day"), checked.numbers(right, "right day", low=0.0)
    checked.not_empty(len(start))
    place = checked.animals(animal, len(start))
    gone = np.zeros(len(start), dtype=bool) if never is None else checked.truths(never, "mark of who never heals") == 1
    checked.same_length(left=start, right=end, never=gone)
    if len(np.unique(place)) == len(place):
        return lambda day: 1.0
    from audit.stats.proportions import design_effect  # costs over a second to import

    def on(day: float) -> float:
        healed = ~gone & (end <= day)
        known = healed | gone | (start >= day)
        cases = np.bincount(place, known)
        asked = cases > 0
        if not asked.any():
            return 1.0
        return design_effect(np.bincount(place, healed)[asked], cases[asked], np.ones(int(asked.sum())))

    return on


def band(
    left: ArrayLike,
    right: ArrayLike,
    days: ArrayLike,
    *,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float | ByDay = 1.0,
    degrees: float = inf,
) -> Band:
    """Limits of `share_interval` on each of `days`: they hold for each day by itself, not for the whole curve."""
    return profiled_band(_HealingCurve.of(left, right, weight), days, allowance(level, design_effect, degrees))


def quantile_interval(
    left: ArrayLike,
    right: ArrayLike,
    p: float,
    *,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    design_effect: float | ByDay = 1.0,
    degrees: float = inf,
    unit: str = "animals",
) -> Estimate:
    """
    Day by which a share `p` has healed: every day whose share healed has `p` in its profile-likelihood interval.

    The estimate lies in (value, value_to], or is exact where they are equal. What lies beyond the last day on record
    is None. Raises as `share_interval`, and AuditError for a `p` outside (0, 1).
    """
    return profiled_quantile(
        _HealingCurve.of(left, right, weight), p, "healed", unit, allowance(level, design_effect, degrees)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _HealingCurve:
    seen: Intervals
    fit: Npmle
    n: int
    loglik: float
    days: np.ndarray

    @classmethod
    def of(cls, left: ArrayLike, right: ArrayLike, weight: ArrayLike | None) -> "_HealingCurve":
        seen, fit = observed(left, right, weight), npmle(left, right, weight)
        days = np.concatenate((np.asarray(left, dtype=float), seen.end[np.isfinite(seen.end)], [0.0]))
        return cls(seen, fit, fit.n, fit.loglik, np.unique(days))

    def share(self, day: float) -> Span:
        return self.fit.share(day)

    def profile(self, day: float) -> Profile:
        cells: Cells = innermost(self.seen, day)
        c = int(np.searchsorted(cells.end, day, side="right"))
        possible = {0.0: bool((cells.stop > c).all()), 1.0: bool((cells.first < c).all())}
        last: list[Fit] = []

        def through(theta: float) -> Span:
            if not possible.get(theta, True):
                return -inf, 0.0
            begin = last.pop().mass + 1e-3 / len(cells.start) if last else None
            last.append(maximise(cells, begin, (c, theta)))
            return last[0].loglik, last[0].slope[0] - last[0].slope[1]

        return through


def profiled_share(
    curve: Curve, day: float, counts: tuple[int, int], quantity: str, unit: str, allowed: Allowance
) -> Estimate:
    """Share of any curve on `day` with its interval; `counts` are the sure and the unknown cases."""
    low, high = _limits(curve, day, allowed, (None, None))
    value, value_to = curve.share(day)
    if value_to - value < SETTLED:
        value_to = value
    return Estimate(
        quantity=quantity,
        value=value,
        value_to=value_to,
        low=low,
        high=high,
        level=allowed.level,
        method=allowed.method,
        unit=unit,
        numerator=counts[0],
        denominator=curve.n,
        unknown=counts[1],
        notes=() if value_to == value else (f"the visits do not settle the share on day {day:g}",),
    )


def profiled_band(curve: Curve, days: ArrayLike, allowed: Allowance) -> Band:
    """
    Pointwise limits of any curve; days that no visit parts share one computation.

    A limit of a share at 0 or 1 is allowed further off than its neighbours, so limits are widened, never narrowed, to
    where they rise with the day, as the share that they hold does.
    """
    at = checked.days(days)
    place = np.searchsorted(curve.days, at, "left") + np.searchsorted(curve.days, at, "right")
    by_place: dict[int, Span] = {}
    guess: tuple[float | None, float | None] = (None, None)
    for day, key in zip(at.tolist(), place.tolist(), strict=True):
        if key not in by_place:
            guess = by_place[key] = _limits(curve, day, allowed, guess)
    low, high = np.array([by_place[key] for key in place.tolist()]).reshape(-1, 2).T
    order = np.argsort(at, kind="stable")
    low[order] = np.minimum.accumulate(low[order][::-1])[::-1]
    high[order] = np.maximum.accumulate(high[order])
    value, value_to = np.array([curve.share(day) for day in at.tolist()]).reshape(-1, 2).T
    return Band(days=at, value=value, value_to=value_to, low=low, high=high, level=allowed.level, method=allowed.method)


def profiled_quantile(curve: Curve, p: float, verb: str, unit: str, allowed: Allowance) -> Estimate:
    """Day by which a share `p` of any curve is reached, by inverting the intervals of its shares."""
    checked.share(p)
    ends = curve.days
    days = np.empty(2 * len(ends))  # every day on record, and a day between it and the next
    days[::2], days[1::2] = ends, np.append((ends[1:] + ends[:-1]) / 2, ends[-1] + 1)

    def reached(i: int, side: int) -> bool:
        return curve.share(days[i])[side] >= p - SETTLED

    def near(i: int) -> bool:
        return holds_share(curve, days[i], p, allowed)

    def first_day(holds: Callable[[int], bool]) -> float | None:
        i = _first(len(days), holds)
        return float(ends[i // 2]) if i < len(days) else None

    value, value_to = first_day(lambda i: reached(i, 1)), first_day(lambda i: reached(i, 0))
    low = first_day(lambda i: reached(i, 1) or near(i))
    high = first_day(lambda i: curve.share(days[i])[0] > p + SETTLED and not near(i))
    notes = [] if high is not None else [f"no upper limit: too few {verb} by day {ends[-1]:g}, the last on record"]
    if value is None:
        notes.append(f"fewer than {p:.0%} {verb}")
    return Estimate(
        quantity=f"day by which {p:.0%} have {verb}",
        value=value,
        value_to=value_to,
        low=low,
        high=high,
        level=allowed.level,
        method=f"{allowed.method}, inverted",
        unit=unit,
        denominator=curve.n,
        notes=tuple(notes),
    )


def holds_share(curve: Curve, day: float, share: float, allowed: Allowance) -> bool:
    """Whether the interval of the share on `day` holds this share, at a fraction of the cost of its limits."""
    best = curve.share(day)
    if best[0] - SETTLED <= share <= best[1] + SETTLED:
        return True
    return curve.loglik - curve.profile(day)(share)[0] <= allowed.drops(day, best)[share > best[1]]


def allowance(level: float, design_effect: float | ByDay, degrees: float) -> Allowance:
    """
    Half the chi-square quantile with 1 degree of freedom, times the design effect, which may differ by day.

    With finite `degrees` (animals less one) the F quantile takes its place, as an answer to few animals (Owen AB.
    Biometrika 1988;75:237-249). Raises AuditError for numbers that make no sense.
    """
    checked.level(level)
    if not callable(design_effect) and not 1 <= design_effect < inf:
        raise AuditError(f"a design effect is at least 1, not {design_effect}", "use 1 for one graft an animal")
    if not degrees >= 1:
        raise AuditError(
            f"degrees of freedom are at least 1, not {degrees}", "an interval needs 2 animals or more", joint=": "
        )
    effect = design_effect if callable(design_effect) else lambda day: design_effect
    edge, method = -log(1 - level), "profile likelihood"
    if degrees == inf:
        drop = NormalDist().inv_cdf((1 + level) / 2) ** 2 / 2
    else:
        drop, method = float(stdtrit(degrees, (1 + level) / 2)) ** 2 / 2, f"{method}, F quantile"
    return Allowance(level, drop, max(drop, edge), effect, method)


def _limits(curve: Curve, day: float, allowed: Allowance, guess: tuple[float | None, float | None]) -> Span:
    profile, best = curve.profile(day), curve.share(day)
    drops = allowed.drops(day, best)
    low, high = (_limit(profile, best[side], curve, drops[side], side, guess[side]) for side in (0, 1))
    return low, high


def _limit(profile: Profile, best: float, curve: Curve, drop: float, side: int, guess: float | None) -> float:
    """
    The share below (side 0) or above (side 1) `best` at which the log-likelihood has fallen by `drop`.

    Newton's steps are taken for the root of the fall on the logit scale, where it is nearly a straight line, and
    kept inside a bracket.
    """
    edge = float(side)
    if best == edge or curve.loglik - profile(edge)[0] <= drop:
        return edge
    inside, outside, target = best, edge, sqrt(2 * drop)
    theta = guess if guess is not None else best + (edge - best) * (1 - exp(-drop / curve.n))
    for _ in range(60):
        if not min(inside, outside) < theta < max(inside, outside):
            theta = (inside + outside) / 2
        loglik, slope = profile(theta)
        root = sqrt(max(2 * (curve.loglik - loglik), 0.0))
        if abs(root - target) < 1e-7 or abs(outside - inside) < 1e-10:
            break
        inside, outside = (theta, outside) if root < target else (inside, theta)
        pace = -slope * theta * (1 - theta) / root if root > 0 else 0.0
        if pace:
            step = min(max((target - root) / pace, -2.0), 2.0)  # further out the line no longer holds
            theta = 1 / (1 + exp(-log(theta / (1 - theta)) - step))
        else:
            theta = -1.0
    return theta


def _first(count: int, holds: Callable[[int], bool]) -> int:
    """The first of `count` places at which a condition holds that never ceases again; `count` if nowhere."""
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low
