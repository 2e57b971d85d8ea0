"""Bias-corrected and accelerated (BCa) bootstrap limits from replicates drawn by animal."""

from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm, t

from audit.results import Span
from audit.stats import checked


def acceleration(leave_one_out: ArrayLike) -> float:
    """
    Acceleration from the estimates without each animal (Efron B, Tibshirani R. 1993, equation 14.15).

    Zero where leaving one out changes nothing.
    """
    values = np.asarray(leave_one_out, dtype=float)
    away = values.mean() - values
    spread = float((away**2).sum())
    return float((away**3).sum()) / (6 * spread**1.5) if spread > 0 else 0.0


def percentile_levels(bias: float, acceleration: float, z: float) -> Span:
    """
    Levels at which to read the sorted replicates, for limits `z` normal units either side (equation 14.10).

    >>> [round(at, 3) for at in percentile_levels(0.0, 0.0, 1.96)]
    [0.025, 0.975]
    """
    shifted = [bias + (bias + side) / (1 - acceleration * (bias + side)) for side in (-z, z)]
    low, high = (float(at) for at in norm.cdf(shifted))
    return low, high


def bca_interval(
    replicates: NDArray,
    estimate: float,
    leave_one_out: ArrayLike,
    *,
    animals: int,
    level: float,
) -> Span:
    """
    Interval at this level, widened for few animals.

    The normal quantile is replaced by the t quantile times sqrt(n / (n - 1)), without which BCa is too short for a
    mean of few animals (Hesterberg TC. Am Stat 2015;69:371-386, expanded percentiles).
    """
    checked.level(level)
    # Half of the ties count as below, so that coarse data carry no false bias.
    below = float(np.mean(replicates < estimate) + np.mean(replicates == estimate) / 2)
    smallest = 1 / (len(replicates) + 1)
    bias = float(norm.ppf(np.clip(below, smallest, 1 - smallest)))
    z = sqrt(animals / (animals - 1)) * float(t.ppf((1 + level) / 2, animals - 1))
    low, high = np.quantile(replicates, percentile_levels(bias, acceleration(leave_one_out), z))
    return float(low), float(high)
