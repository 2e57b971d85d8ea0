"""The error of a Weibull accelerated failure time model: its log-likelihood with first and second derivatives."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def interval(low: Array, high: Array) -> tuple[Array, ...]:
    """
    Log-likelihood of (low, high], the first derivatives at both ends, and the second: low, across, high.

    `low` and `high` are errors of the log day.
    """
    a, b = np.exp(np.minimum(low, 300.0)), np.exp(np.minimum(high, 300.0))
    gone = -np.expm1(a - b)
    h = np.exp(a - b) / gone
    bend = h * (1 + h)
    at_low, at_high = -a * (1 + h), b * h
    return np.log(gone) - a, at_low, at_high, at_low - a * a * bend, a * b * bend, at_high - b * b * bend


def exact(z: Array) -> tuple[Array, Array, Array]:
    """Log-likelihood of an exact error, and its first and second derivative."""
    hazard = np.exp(np.minimum(z, 300.0))
    return z - hazard, 1 - hazard, -hazard


def share(z: Array) -> Array:
    """Share of errors up to z."""
    return -np.expm1(-np.exp(np.minimum(z, 300.0)))
