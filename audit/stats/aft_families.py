"""The errors of an accelerated failure time model: their log-likelihood with its first and second derivatives."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr, ndtri

Array = NDArray[np.float64]


class Weibull:
    """Log-likelihood of (z_left, z_right] and of an exact z, with derivatives; z is the error of the log day."""

    @staticmethod
    def interval(low: Array, high: Array) -> tuple[Array, ...]:
        a, b = np.exp(np.minimum(low, 300.0)), np.exp(np.minimum(high, 300.0))
        gone = -np.expm1(a - b)
        h = np.exp(a - b) / gone
        bend = h * (1 + h)
        at_low, at_high = -a * (1 + h), b * h
        return np.log(gone) - a, at_low, at_high, at_low - a * a * bend, a * b * bend, at_high - b * b * bend

    @staticmethod
    def exact(z: Array) -> tuple[Array, Array, Array]:
        hazard = np.exp(np.minimum(z, 300.0))
        return z - hazard, 1 - hazard, -hazard

    @staticmethod
    def share(z: Array) -> Array:
        return -np.expm1(-np.exp(np.minimum(z, 300.0)))

    @staticmethod
    def quantile(p: float) -> float:
        return float(np.log(-np.log1p(-p)))


class LogNormal:
    """As `Weibull`, for normal errors."""

    @staticmethod
    def interval(low: Array, high: Array) -> tuple[Array, ...]:
        upper = low > 0  # work in the lower tail, where the logarithm keeps its digits
        near, far = np.where(upper, -low, high), np.where(upper, -high, low)
        top = log_ndtr(near)
        loglik = top + np.log(-np.expm1(log_ndtr(far) - top))
        at_low, at_high = (-np.exp(-z * z / 2 - np.log(2 * np.pi) / 2 - loglik) for z in (low, high))
        at_high = -at_high
        bend = -at_low * at_high
        return loglik, at_low, at_high, -low * at_low - at_low**2, bend, -high * at_high - at_high**2

    @staticmethod
    def exact(z: Array) -> tuple[Array, Array, Array]:
        return -z * z / 2 - np.log(2 * np.pi) / 2, -z, -np.ones_like(z)

    @staticmethod
    def share(z: Array) -> Array:
        return ndtr(z)

    @staticmethod
    def quantile(p: float) -> float:
        return float(ndtri(p))


Error = type[Weibull] | type[LogNormal]
ERRORS: dict[str, Error] = {"Weibull": Weibull, "log-normal": LogNormal}
