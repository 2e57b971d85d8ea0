"""Agreement of measured percents and areas: the intraclass correlation and limits of agreement."""

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import f, norm, t

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Tidy, tidy
from audit.stats.agreement import FEWEST_PHOTOGRAPHS, PHOTOGRAPHS

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
    measurements: ArrayLike, *, level: float = 0.95, fewest: int = FEWEST_PHOTOGRAPHS
) -> Estimate:
    """
    ICC(2,1): absolute agreement of single measurements by raters drawn from many, from a full table.

    Measurements are photographs (rows) by raters (columns). No value without variation, no interval where raters
    differ by constants only. Raises TooFewData under `fewest` photographs or two raters, AuditError for a gap in the
    table. Shrout PE, Fleiss JL. Psychol Bull 1979;86:420-428.
    """
    x = np.asarray(measurements, dtype=float)
    n, k = x.shape
    if n < max(2, fewest) or k < 2:
        raise TooFewData(f"{n} photographs by {k} raters are too few for a correlation; show the measurements")
    if np.isnan(x).any():
        raise AuditError("a measurement is missing; keep only photographs that all raters measured")
    rows, columns = x.mean(axis=1, keepdims=True), x.mean(axis=0, keepdims=True)
    between = k * float(rows.var(ddof=1))
    raters = n * float(columns.var(ddof=1))
    rest = float(((x - rows - columns + x.mean()) ** 2).sum()) / ((n - 1) * (k - 1))
    scatter = between + (k - 1) * rest + k * (raters - rest) / n
    value = (between - rest) / scatter if scatter > 1e-12 else None
    low = high = None
    if value is not None and rest > 1e-12 * between:
        ratio, weight = raters / rest, n * (1 + (k - 1) * value) - k * value
        freedom = (k - 1) * (n - 1) * (k * value * ratio + weight) ** 2
        freedom /= (n - 1) * (k * value * ratio) ** 2 + weight**2
        tail = (1 - level) / 2
        upper, lower = float(f.isf(tail, n - 1, freedom)), float(f.isf(tail, freedom, n - 1))
        others = k * raters + (k * n - k - n) * rest
        low = n * (between - upper * rest) / (upper * others + n * between)
        high = n * (lower * between - rest) / (others + n * lower * between)
    notes = () if low is not None else ("the measurements leave no variation to judge the interval by",)
    return Estimate(
        "intraclass correlation",
        value,
        value,
        low,
        high,
        level,
        "ICC(2,1), F limits",
        PHOTOGRAPHS,
        denominator=n,
        notes=notes,
    )


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
    difference = np.asarray(first, dtype=float) - np.asarray(second, dtype=float)
    n = difference.size
    if n < max(2, fewest):
        raise TooFewData(f"{n} photographs are too few for limits of agreement; show the differences")
    mean, deviation = float(difference.mean()), float(difference.std(ddof=1))
    quantile = float(t.ppf((1 + level) / 2, n - 1))
    reach = float(norm.ppf(0.975)) * deviation

    def around(quantity: str, value: float, error: float) -> Estimate:
        low, high = value - quantile * error, value + quantile * error
        return Estimate(quantity, value, value, low, high, level, "Bland-Altman, t", PHOTOGRAPHS, denominator=n)

    error = deviation / sqrt(n)
    return LimitsOfAgreement(
        around("mean difference", mean, error),
        around("lower limit of agreement", mean - reach, sqrt(3) * error),
        around("upper limit of agreement", mean + reach, sqrt(3) * error),
        deviation,
    )
