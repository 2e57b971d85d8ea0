"""Agreement of measured percents and areas: the intraclass correlation and limits of agreement."""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import f, norm, t

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Span, Tidy, tidy
from audit.stats import checked
from audit.stats.agreement import FEWEST_PHOTOGRAPHS, PHOTOGRAPHS
from audit.stats.fisher_z import jackknife_error, z_interval

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class LimitsOfAgreement(Tidy):
    """Mean difference of two raters and the limits that hold 95 % of single differences, in the unit measured."""

    bias: Estimate
    lower: Estimate
    upper: Estimate
    standard_deviation: float

    @property
    def frame(self) -> "pd.DataFrame":
        """Three rows: the mean difference and both limits, with `audit.results.TIDY_COLUMNS`."""
        return tidy([self.bias, self.lower, self.upper])


def intraclass_correlation(
    measurements: ArrayLike,
    *,
    animal: ArrayLike | None = None,
    level: float = 0.95,
    fewest: int = FEWEST_PHOTOGRAPHS,
) -> Estimate:
    """
    ICC(2,1): absolute agreement of single measurements, from a full table.

    Measurements are photographs (rows) by raters (columns). With the animal of each photograph the interval is of these
    raters on more such animals: Student's t on Fisher's scale, with the error of leaving out each animal. Without, it
    is the published F limits, of raters drawn from many: two raters tell so little of many that these held the truth
    in 0.80 of invented series of 200 photographs. No value without variation, no interval where raters differ by
    constants only. Raises TooFewData under `fewest` photographs or two raters, AuditError for a gap in the table.
    Shrout PE, Fleiss JL. Psychol Bull 1979;86:420-428.
    """
    checked.level(level)
    x = checked.as_numbers(measurements, "measurements")
    if x.ndim != 2:
        raise AuditError(f"measurements of shape {x.shape} are no table", "give photographs by raters")
    n, k = x.shape
    if n < max(2, fewest) or k < 2:
        raise TooFewData(f"{n} photographs by {k} raters are too few for a correlation", "show the measurements")
    if np.isnan(x).any():
        raise AuditError("a measurement is missing", "keep only photographs that all raters measured")
    centred = x - x.mean()
    sums = np.column_stack([np.ones(n), centred, k * centred.mean(axis=1) ** 2, (centred**2).sum(axis=1)])
    between, raters, rest = (float(square[0]) for square in _mean_squares(sums.sum(axis=0)[None]))
    value = float(_correlation(sums.sum(axis=0)[None])[0])
    owner = None if animal is None else checked.animals(animal, n)
    limits = None
    if rest > 1e-12 * between:
        if owner is None:
            limits = _f_limits(value, between, raters, rest, n, k, level)
        else:
            limits = _limits_by_animal(value, sums, owner, level)
    low, high = limits or (None, None)
    return Estimate(
        quantity="intraclass correlation",
        value=None if np.isnan(value) else value,
        value_to=None if np.isnan(value) else value,
        low=low,
        high=high,
        level=level,
        method="ICC(2,1), " + ("F limits" if owner is None else "t on Fisher's scale, leaving out each animal"),
        unit=PHOTOGRAPHS,
        denominator=n,
        animals=None if owner is None else int(owner.max()) + 1,
        notes=() if limits else ("the measurements leave no variation to judge the interval by",),
    )


def _mean_squares(sums: NDArray) -> tuple[NDArray, NDArray, NDArray]:
    """
    Between photographs, between raters, and the rest, for each row of sums over photographs.

    The columns are 1, each rater's measurement, raters times the squared mean of the photograph, and all squares.
    """
    n, raters = sums[:, 0], sums[:, 1:-2]
    k = raters.shape[1]
    middle = k * n * (raters.mean(axis=1) / n) ** 2
    between, columns = sums[:, -2] - middle, (raters**2).sum(axis=1) / n - middle
    rest = np.maximum(sums[:, -1] - middle - between - columns, 0.0)
    return between / (n - 1), columns / (k - 1), rest / ((n - 1) * (k - 1))


def _correlation(sums: NDArray) -> NDArray:
    """ICC(2,1) of each row of sums; NaN without variation."""
    between, raters, rest = _mean_squares(sums)
    k = sums.shape[1] - 3
    scatter = between + (k - 1) * rest + k * (raters - rest) / sums[:, 0]
    return np.divide(between - rest, scatter, out=np.full(len(sums), np.nan), where=scatter > 1e-12)


def _limits_by_animal(value: float, sums: NDArray, owner: NDArray, level: float) -> Span | None:
    """None where nothing is left to judge by without one of the animals."""
    by_animal = np.zeros((int(owner.max()) + 1, sums.shape[1]))
    np.add.at(by_animal, owner, sums)
    without = _correlation(sums.sum(axis=0) - by_animal)
    if len(by_animal) < 2 or not (np.abs(without) < 1).all():
        return None
    return z_interval(value, jackknife_error(np.arctanh(without)), animals=len(by_animal), level=level)


def _f_limits(value: float, between: float, raters: float, rest: float, n: int, k: int, level: float) -> Span:
    ratio, weight = raters / rest, n * (1 + (k - 1) * value) - k * value
    freedom = (k - 1) * (n - 1) * (k * value * ratio + weight) ** 2
    freedom /= (n - 1) * (k * value * ratio) ** 2 + weight**2
    tail = (1 - level) / 2
    upper, lower = float(f.isf(tail, n - 1, freedom)), float(f.isf(tail, freedom, n - 1))
    others = k * raters + (k * n - k - n) * rest
    low = n * (between - upper * rest) / (upper * others + n * between)
    return low, n * (lower * between - rest) / (others + n * lower * between)


def limits_of_agreement(
    first: ArrayLike, second: ArrayLike, *, level: float = 0.95, fewest: int = FEWEST_PHOTOGRAPHS
) -> LimitsOfAgreement:
    """
    Mean difference first minus second, and the limits 1.96 standard deviations either side, each with a t interval.

    Raises TooFewData under `fewest` photographs. Bland JM, Altman DG. Lancet 1986;1:307-310; the variance of a limit
    is their 3 s^2 / n.

    >>> found = limits_of_agreement([80, 90, 70, 95], [75, 90, 75, 90], fewest=2)
    >>> found.bias.value, round(found.lower.value, 1), round(found.upper.value, 1)
    (1.25, -8.1, 10.6)
    """
    checked.level(level)
    a, b = (checked.numbers(values, "measurement") for values in (first, second))
    checked.same_length(first=a, second=b)
    difference = a - b
    n = difference.size
    if n < max(2, fewest):
        raise TooFewData(f"{n} photographs are too few for limits of agreement", "show the differences")
    mean, deviation = float(difference.mean()), float(difference.std(ddof=1))
    quantile = float(t.ppf((1 + level) / 2, n - 1))
    reach = float(norm.ppf(0.975)) * deviation

    def around(quantity: str, value: float, error: float) -> Estimate:
        low, high = value - quantile * error, value + quantile * error
        return Estimate(
            quantity=quantity,
            value=value,
            value_to=value,
            low=low,
            high=high,
            level=level,
            method="Bland-Altman, t",
            unit=PHOTOGRAPHS,
            denominator=n,
        )

    error = deviation / sqrt(n)
    return LimitsOfAgreement(
        around("mean difference", mean, error),
        around("lower limit of agreement", mean - reach, sqrt(3) * error),
        around("upper limit of agreement", mean + reach, sqrt(3) * error),
        deviation,
    )
