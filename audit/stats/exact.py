"""Curves for days known exactly: Kaplan-Meier, its median and restricted mean, follow-up, and observed/expected."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import erfc, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaincinv

from audit.errors import AuditError, EmptyGroup
from audit.results import Estimate, Tidy, TidyArrays, tidy
from audit.stats.profile import design_effect_by_day
from audit.stats.tallies import day_table

if TYPE_CHECKING:
    import pandas as pd

BLOCK = 16_384  # event days at a time, so that the work stays in the processor's cache


@dataclass(frozen=True, slots=True, eq=False)
class KaplanMeier(TidyArrays):
    """
    Share still without the event, one entry a distinct event day: risk set, events, survival, Greenwood error, limits.

    `low` and `high` are log-log limits at `level`, NaN where survival is 0, where they do not exist. `last` is the
    last day on record.
    """

    day: np.ndarray
    at_risk: np.ndarray
    events: np.ndarray
    survival: np.ndarray
    se: np.ndarray
    low: np.ndarray
    high: np.ndarray
    level: float
    n: int
    last: float

    def at(self, day: float) -> tuple[float, float, float]:
        """Survival and its limits at the end of `day`; NaN beyond the last day on record unless all have had it."""
        j = int(np.searchsorted(self.day, day, side="right")) - 1
        if j < 0:
            return 1.0, 1.0, 1.0
        if day > self.last and self.survival[j] > 0:
            return np.nan, np.nan, np.nan
        return float(self.survival[j]), float(self.low[j]), float(self.high[j])

    def quantile(self, p: float, *, quantity: str | None = None, unit: str = "animals") -> Estimate:
        """
        First day by which a share `p` has had the event, with the limits of Brookmeyer and Crowley.

        Brookmeyer R, Crowley J. Biometrics 1982;38:29-41, here with log-log limits of the curve. None: not reached.
        """
        if not 0 < p < 1:
            raise AuditError(f"a quantile lies between 0 and 1, not at {p}")

        def first(curve: np.ndarray) -> float | None:
            reached = np.flatnonzero(curve <= 1 - p + 1e-12)
            return float(self.day[reached[0]]) if len(reached) else None

        value, low, high = first(self.survival), first(self.low), first(self.high)
        notes = [
            f"{name} not reached by day {self.last:g}"
            for name, day in (("value", value), ("lower limit", low), ("upper limit", high))
            if day is None
        ]
        return Estimate(
            quantity=quantity or f"day by which {p:.0%} have had the event",
            value=value,
            value_to=value,
            low=low,
            high=high,
            level=self.level,
            method="Kaplan-Meier, Brookmeyer-Crowley limits (log-log)",
            unit=unit,
            numerator=int(self.events.sum()),
            denominator=self.n,
            notes=tuple(notes),
        )

    def restricted_mean(self, horizon: float) -> tuple[float, float]:
        """
        Mean of the day or `horizon`, whichever is first, and its standard error (Greenwood, no small-sample factor).

        Raises AuditError for a horizon beyond the last day on record, where the curve is not known.
        """
        if horizon > self.last and not (len(self.survival) and self.survival[-1] == 0):
            raise AuditError(f"the curve ends on day {self.last:g}; choose a horizon up to there, not {horizon:g}")
        used = self.day < horizon
        edges = np.concatenate(([0.0], self.day[used], [horizon]))
        area = np.diff(edges) * np.concatenate(([1.0], self.survival[used]))
        after = np.cumsum(area[::-1])[::-1][1:]
        d, r = self.events[used], self.at_risk[used]
        spread = np.divide(d, r * (r - d), out=np.zeros(len(d)), where=r > d)
        return float(area.sum()), sqrt(float(after**2 @ spread))


@dataclass(frozen=True, slots=True)
class OneSample(Tidy):
    """Events observed against those a benchmark expects, and the one-sample log-rank test of their difference."""

    ratio: Estimate
    observed: int
    expected: float
    z: float
    chi_square: float
    p: float

    @property
    def frame(self) -> "pd.DataFrame":
        """One row: the columns of the ratio, then observed, expected, z, chi_square, p."""
        names = ("observed", "expected", "z", "chi_square", "p")
        return tidy([self.ratio]).assign(**{name: getattr(self, name) for name in names})


def kaplan_meier(
    day: ArrayLike, is_event: ArrayLike, weight: ArrayLike | None = None, *, level: float = 0.95
) -> KaplanMeier:
    """
    Kaplan-Meier curve with Greenwood's error and log-log limits; events come before censorings of the same day.

    Rows may be tallied by `weight`. Raises EmptyGroup without cases, AuditError for a missing or negative day.

    Kaplan EL, Meier P. J Am Stat Assoc 1958;53:457-481; limits: Kalbfleisch JD, Prentice RL. The Statistical
    Analysis of Failure Time Data, 2nd ed., 2002.

    >>> kaplan_meier([1, 2, 2, 3], [True, True, False, True]).survival.tolist()
    [0.75, 0.5, 0.0]
    """
    if not 0 < level < 1:
        raise AuditError(f"a confidence level lies between 0 and 1, not at {level}")
    days, events, leavers = _tally(day, is_event, weight)
    at_risk = np.cumsum(leavers[::-1])[::-1]
    hit = events > 0
    at, d, r = days[hit], events[hit], at_risk[hit]
    survival, se, low, high = (np.empty(len(r)) for _ in range(4))
    z = NormalDist().inv_cdf((1 + level) / 2)
    share, spread = 1.0, 0.0
    for begin in range(0, len(r), BLOCK):
        block = slice(begin, begin + BLOCK)
        gone, here = d[block], r[block]
        with np.errstate(divide="ignore", invalid="ignore"):
            curve, greenwood = 1 - gone / here, gone / (here * (here - gone))  # infinite where all are gone
            curve[0] *= share
            greenwood[0] += spread
            curve, root = np.cumprod(curve), np.sqrt(np.cumsum(greenwood, out=greenwood))
            log = np.log(curve)
            reach = np.exp(z * root / log)
            survival[block], se[block] = curve, np.where(curve > 0, curve * root, 0.0)
            low[block], high[block] = np.exp(log / reach), np.exp(log * reach)
        share, spread = curve[-1], greenwood[-1]
    low[survival == 0], high[survival == 0] = np.nan, np.nan
    return KaplanMeier(at, r, d, survival, se, low, high, level, round(float(at_risk[0])), float(days[-1]))


def follow_up(
    day: ArrayLike,
    is_event: ArrayLike,
    weight: ArrayLike | None = None,
    *,
    animal: ArrayLike | None = None,
    level: float = 0.95,
    unit: str = "animals",
) -> Estimate:
    """
    Median days of follow-up by the reverse Kaplan-Meier method: leaving observation is the event, the event censors.

    None where more than half the curve ends in events: follow-up was then cut short by them, not by loss. Where
    `animal` names the animal of each row, and some have several, Greenwood's variance is multiplied by the design
    effect on the median day. Schemper M, Smith TL. Control Clin Trials 1996;17:343-346.
    """
    gone = ~np.asarray(is_event, dtype=bool)

    def median(curve: KaplanMeier) -> Estimate:
        return curve.quantile(0.5, quantity="median follow-up in days", unit=unit)

    found = median(kaplan_meier(day, gone, weight, level=level))
    if animal is None or found.value is None:
        return found
    days = np.asarray(day, dtype=float)
    effect = design_effect_by_day(days, np.where(gone, days, np.inf), animal)(found.value)
    if effect == 1:
        return found
    wider = median(kaplan_meier(day, gone, np.full(len(days), 1 / effect), level=level))
    notes = (*wider.notes, f"design effect {effect:.2f}")
    return replace(found, low=wider.low, high=wider.high, animals=len(np.unique(np.asarray(animal))), notes=notes)


def observed_expected(observed: int, expected: float, *, level: float = 0.95, unit: str = "animals") -> Estimate:
    """
    Observed over expected events with exact Poisson limits (Garwood F. Biometrika 1936;28:437-442).

    Raises AuditError for an expected count not above 0.

    >>> found = observed_expected(15, 4.474)
    >>> round(found.value, 2), round(found.low, 2), round(found.high, 2)
    (3.35, 1.88, 5.53)
    """
    if not expected > 0:
        raise AuditError(f"expected events are {expected:g}; a ratio needs a benchmark that expects more than 0")
    tail = (1 - level) / 2
    low = float(gammaincinv(observed, tail)) if observed > 0 else 0.0
    high = float(gammaincinv(observed + 1, 1 - tail))
    ratio = observed / expected
    return Estimate(
        quantity="observed / expected",
        value=ratio,
        value_to=ratio,
        low=low / expected,
        high=high / expected,
        level=level,
        method="exact Poisson",
        unit=unit,
        numerator=observed,
        notes=(f"{expected:.3g} expected",),
    )


def one_sample_log_rank(
    day: ArrayLike,
    is_event: ArrayLike,
    cumulative_hazard: Callable[[np.ndarray], np.ndarray],
    weight: ArrayLike | None = None,
    *,
    level: float = 0.95,
    unit: str = "animals",
) -> OneSample:
    """
    One-sample log-rank test against a benchmark given by its cumulative hazard at each day.

    Breslow NE. Int Stat Rev 1975;43:45-57. Raises as `kaplan_meier` and `observed_expected`.
    """
    days, events, leavers = _tally(day, is_event, weight)
    observed, expected = round(float(events.sum())), float(leavers @ cumulative_hazard(days))
    ratio = observed_expected(observed, expected, level=level, unit=unit)
    z = (observed - expected) / sqrt(expected)
    return OneSample(ratio, observed, expected, z, z * z, erfc(abs(z) / sqrt(2)))


def _tally(day: ArrayLike, is_event: ArrayLike, weight: ArrayLike | None) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Distinct days in order, with the events and all the leavers of each."""
    days, happened = np.asarray(day), np.asarray(is_event)
    count = None if weight is None else np.asarray(weight, dtype=float)
    if days.ndim != 1 or days.shape != happened.shape or (count is not None and days.shape != count.shape):
        sizes = (days.shape, happened.shape, None if count is None else count.shape)
        raise AuditError(f"day, event and weight differ in length: {sizes[0]}, {sizes[1]}, {sizes[2]}")
    if len(days) == 0:
        raise EmptyGroup("the group has no cases; widen the dates or leave the group out")
    if days.min() < 0 or not np.isfinite(days).all():
        raise AuditError("a day is missing, infinite or before surgery; mend it or leave the case out by name")
    if happened.dtype != bool and not np.isin(happened, (0, 1)).all():
        raise AuditError("an event is neither true nor false; leave the unknown out by name")
    if count is not None and not count.any():
        raise EmptyGroup("the group has no cases; widen the dates or leave the group out")
    distinct, table = day_table(days, happened.astype(bool), 2, count)
    return distinct, table[:, 1], table[:, 0] + table[:, 1]
