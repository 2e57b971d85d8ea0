"""Events that repeat, such as bandage changes: their mean number by day, rates by phase, and the longest gap."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import chi2, norm, t

from audit.errors import AuditError
from audit.results import Estimate, TidyArrays
from audit.stats import checked

PHASES: tuple[tuple[int, int | None], ...] = ((0, 7), (8, 14), (15, 21), (22, None))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanCumulative(TidyArrays):
    """
    Mean number of events an animal has had by each day on which any had one, with pointwise limits.

    Arrays of one length: day, animals at risk, events that day, mean, its robust standard error, low, high.
    """

    day: NDArray[np.float64]
    at_risk: NDArray[np.int64]
    events: NDArray[np.int64]
    mean: NDArray[np.float64]
    standard_error: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    level: float
    method: str
    animals: int


def mean_cumulative(
    event_graft: ArrayLike,
    event_day: ArrayLike,
    graft: ArrayLike,
    end_day: ArrayLike,
    *,
    animal: ArrayLike | None = None,
    level: float = 0.95,
) -> MeanCumulative:
    """
    Mean cumulative function with the variance between animals, which needs no Poisson assumption.

    `graft` and `end_day` list every graft once with its last day under observation, on which it is still at risk;
    events are (graft, day) rows. `animal` names the animal of each graft (without it each graft is an animal of its
    own): the mean is of a graft, the variance between animals. Limits on the log scale with a t quantile and
    the error in its leave-one-out form, m / (m - 1) larger with m animals (without it they covered in 0.91 to 0.94 with
    20 animals, nominal 0.95); while all animals have had as many events, which leaves no variance, they are
    Poisson's. Raises EmptyGroup without an animal, AuditError for an event of an unlisted graft or after its end.
    Lawless JF, Nadeau C. Technometrics 1995;37:158-168; Nelson WB. Technometrics 1995;37:147-157.

    >>> curve = mean_cumulative([1, 1, 2], [2, 5, 5], [1, 2, 3], [10, 8, 4])
    >>> curve.day.tolist(), curve.mean.round(2).tolist()
    ([2.0, 5.0], [0.33, 1.33])
    """
    checked.level(level)
    row, when, ends = _checked(event_graft, event_day, graft, end_day)
    owner = checked.animals(animal, len(ends))
    freedom = max(1, int(owner.max()))
    days, place = np.unique(when, return_inverse=True)
    events = np.bincount(place, minlength=days.size)
    at_risk = len(ends) - np.searchsorted(np.sort(ends), days, side="left")
    influence, variance = np.zeros(len(ends)), np.zeros(days.size)
    for i, day in enumerate(days):
        influence += np.bincount(row[place == i], minlength=len(ends)) / at_risk[i]
        influence -= (ends >= day) * (events[i] / at_risk[i] ** 2)
        variance[i] = np.square(np.bincount(owner, influence)).sum()
    mean, error = np.cumsum(events / at_risk), np.sqrt(variance)
    alike, tail = error < 1e-9, (1 + level) / 2
    half = np.where(
        alike,
        norm.ppf(tail) * np.sqrt(np.cumsum(events / at_risk**2)),
        t.ppf(tail, freedom) * error * (freedom + 1) / freedom,
    )
    factor = np.exp(half / mean)
    return MeanCumulative(
        day=days,
        at_risk=at_risk,
        events=events,
        mean=mean,
        standard_error=error,
        low=mean / factor,
        high=mean * factor,
        level=level,
        method="mean cumulative function, robust variance by animal, log scale, t quantile",
        animals=int(owner.max()) + 1,
    )


def phase_rates(
    event_graft: ArrayLike,
    event_day: ArrayLike,
    graft: ArrayLike,
    end_day: ArrayLike,
    *,
    phases: Sequence[tuple[int, int | None]] = PHASES,
    animal: ArrayLike | None = None,
    level: float = 0.95,
) -> tuple[Estimate, ...]:
    """
    Events for each animal-day at risk in each phase of whole days, both ends included (None: to the end).

    The denominator is the animal-days; `animal` as in `mean_cumulative`. Ratio estimate with the variance between
    animals, at least Poisson's, and a t quantile on the log scale; without an event, or with one animal, Garwood's
    exact Poisson limits. A phase that no animal reached has no value. Garwood F. Biometrika 1936;28:437-442.

    >>> first, *_ = phase_rates([1, 1, 2, 2], [2, 5, 3, 6], [1, 2], [7, 7])
    >>> first.value, first.denominator
    (0.25, 16)
    """
    checked.level(level)
    row, when, ends = _checked(event_graft, event_day, graft, end_day)
    owner = checked.animals(animal, len(ends))
    estimates = []
    for first, last in phases:
        stop = ends if last is None else np.minimum(ends, last)
        exposure = np.maximum(0.0, np.floor(stop) - first + 1)
        inside = (when >= first) & (when <= (np.inf if last is None else last))
        events, exposed = (
            np.bincount(owner, weights) for weights in (np.bincount(row[inside], minlength=len(ends)), exposure)
        )
        name = (
            f"events an animal-day, days {first} to {last}"
            if last is not None
            else f"events an animal-day, days {first}+"
        )
        estimates.append(_rate(name, events[exposed > 0], exposed[exposed > 0], level))
    return tuple(estimates)


def _rate(quantity: str, events: NDArray, exposure: NDArray, level: float) -> Estimate:
    count, days, animals = int(events.sum()), float(exposure.sum()), len(events)
    low: float | None
    high: float | None
    rate: float | None
    notes: tuple[str, ...] = ()
    if not animals:
        rate = low = high = None
        method, notes = "none", ("no animal was under observation in these days",)
    else:
        rate = count / days
        if count and animals > 1:
            residual = events - rate * exposure
            variance = max(animals / (animals - 1) * float(residual @ residual), count) / days**2
            factor = exp(float(t.ppf((1 + level) / 2, animals - 1)) * sqrt(variance) / rate)
            low, high, method = rate / factor, rate * factor, "ratio by animal, log scale, t quantile"
        else:
            tail = (1 - level) / 2
            low = float(chi2.ppf(tail, 2 * count)) / 2 / days if count else 0.0
            high = float(chi2.isf(tail, 2 * count + 2)) / 2 / days
            method = "exact Poisson (Garwood)"
    return Estimate(
        quantity=quantity,
        value=rate,
        value_to=rate,
        low=low,
        high=high,
        level=level,
        method=method,
        unit="animal-days",
        numerator=count,
        denominator=round(days),
        animals=animals,
        notes=notes,
    )


def longest_gaps(
    event_graft: ArrayLike, event_day: ArrayLike, graft: ArrayLike, end_day: ArrayLike
) -> NDArray[np.float64]:
    """
    Longest run of days without an event for each graft, in the order of `graft`.

    From day 0 to the first event, between events, and from the last event to the end of observation.

    >>> longest_gaps([1, 1], [2, 9], [1, 2], [12, 5]).tolist()
    [7.0, 5.0]
    """
    row, when, ends = _checked(event_graft, event_day, graft, end_day)
    count = np.arange(len(ends))
    who = np.concatenate([row, count, count])
    days = np.concatenate([when, np.zeros(len(ends)), ends])
    order = np.lexsort((days, who))
    gap = np.diff(days[order])
    same = np.diff(who[order]) == 0
    longest = np.zeros(len(ends))
    np.maximum.at(longest, who[order][1:][same], gap[same])
    return longest


def _checked(
    event_graft: ArrayLike, event_day: ArrayLike, graft: ArrayLike, end_day: ArrayLike
) -> tuple[NDArray, NDArray, NDArray]:
    """Row number of each event's animal, event days, and end days by row."""
    names, ends = checked.names(graft, "graft"), checked.days(end_day, "end day")
    who, when = checked.names(event_graft, "graft"), checked.days(event_day)
    checked.same_length(graft=names, end_day=ends)
    checked.same_length(event_graft=who, event_day=when)
    checked.not_empty(names.size, ("no animal was under observation", "widen the dates or leave the group out"))
    if who.size and (names.dtype.kind in "biuf") != (who.dtype.kind in "biuf"):
        raise AuditError("grafts are numbers in one list and text in the other", "write all of them as text")
    order = np.argsort(names)
    if (np.diff(np.searchsorted(names[order], names[order])) != 1).any():
        raise AuditError("each graft must be listed once with one end of observation", "join the rows of one graft")
    if not who.size:
        return np.zeros(0, dtype=np.int64), when, ends
    place = order[np.minimum(np.searchsorted(names[order], who), names.size - 1)]
    wrong = (names[place] != who) | (when > ends[place])
    if wrong.any():
        row = int(np.argmax(wrong))
        raise AuditError(
            f"event {row}, graft {who[row]}, day {when[row]:g}: outside its days under observation", "mend the end day"
        )
    return place, when, ends
