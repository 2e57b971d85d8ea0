"""
The median follow-up of cases by the reverse Kaplan-Meier method. Kept for `flow`.

The curve and Greenwood's error are statsmodels' (`SurvfuncRight`). Its quantile is the first day strictly below one
half and ours the first at or below it, so the days are read off here. A log-rank test between groups or strata of
exact days, when a verb needs one, is `statsmodels.duration.survfunc.survdiff`.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri
from statsmodels.duration.survfunc import SurvfuncRight

from audit.errors import AuditError
from audit.results import Estimate
from audit.stats import checked
from audit.stats.profile import design_effect_by_day

HALF = 0.5 + 1e-12  # a curve that lies exactly on one half has reached it, whatever its last digit


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

    Limits are those of Brookmeyer and Crowley from log-log limits of the curve. None where more than half the curve
    ends in events: follow-up was then cut short by them, not by loss. Whole-number `weight` tallies rows. Where
    `animal` names the animal of each row, and some have several, Greenwood's variance is multiplied by the design
    effect on the median day. Raises EmptyGroup without cases, AuditError for a missing or negative day or an event
    that is neither true nor false.

    Schemper M, Smith TL. Control Clin Trials 1996;17:343-346; Brookmeyer R, Crowley J. Biometrics 1982;38:29-41;
    limits of the curve: Kalbfleisch JD, Prentice RL. The Statistical Analysis of Failure Time Data, 2nd ed., 2002.

    >>> found = follow_up([30, 60, 90, 120, 150], [False, True, False, False, False])
    >>> found.value, found.low, found.high
    (120.0, 30.0, None)
    """
    checked.level(level)
    days, gone, owner = _rows(day, is_event, weight, animal)
    curve = SurvfuncRight(days, gone)
    last = float(days.max())
    median = _reached(curve, curve.surv_prob)
    effect = 1.0
    if owner is not None and median is not None:
        effect = design_effect_by_day(days, np.where(gone, days, np.inf), owner)(median)
    log_survival = _log(curve.surv_prob)
    with np.errstate(divide="ignore", invalid="ignore"):
        error = curve.surv_prob_se * effect**0.5 / (curve.surv_prob * log_survival)
        reach = np.exp(float(ndtri((1 + level) / 2)) * error)
        low, high = (_reached(curve, np.exp(log_survival * power)) for power in (1 / reach, reach))
    missing = tuple(
        f"{name} not reached by day {last:g}"
        for name, reached in (("value", median), ("lower limit", low), ("upper limit", high))
        if reached is None
    )
    return Estimate(
        quantity="median follow-up in days",
        value=median,
        value_to=median,
        low=low,
        high=high,
        level=level,
        method="Kaplan-Meier, Brookmeyer-Crowley limits (log-log)",
        unit=unit,
        numerator=int(gone.sum()),
        denominator=len(days),
        animals=len(np.unique(owner)) if owner is not None and effect != 1 else None,
        notes=missing + ((f"design effect {effect:.2f}",) if effect != 1 else ()),
    )


def _reached(curve: SurvfuncRight, share: NDArray[np.float64]) -> float | None:
    """First day on which the share left is one half or less; None where it never is."""
    below = np.flatnonzero(share <= HALF)
    return float(curve.surv_times[below[0]]) if len(below) else None


def _log(share: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(divide="ignore"):
        return np.log(share)


def _rows(
    day: ArrayLike, is_event: ArrayLike, weight: ArrayLike | None, animal: ArrayLike | None
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.int64] | None]:
    """Days, who left observation on them, and numbers of the animals, one row a case."""
    days, event = checked.days(day), checked.truths(is_event, "event")
    checked.same_length(day=days, is_event=event)
    count, owner = checked.weights(weight, len(days)), checked.animals(animal, len(days))
    if (count != np.round(count)).any():
        raise AuditError("a weight is no whole number of cases", "give how many cases each row stands for")
    checked.not_empty(count.sum())
    place = np.repeat(np.arange(len(days)), count.astype(int))
    return days[place], event[place] == 0, None if animal is None else owner[place]
