"""Likelihood of a Weibull accelerated failure time model on interval-censored days: its maximum and covariance."""

from math import exp
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from audit.errors import TooFewData
from audit.stats import weibull_error
from audit.stats.weibull_error import Array

MANY_ANIMALS = 500  # above this one animal weighs too little to matter
FAR = 1e8  # stands for minus the log of day 0, and for the log of a day never reached
TELLS_NOTHING = 10.0  # standard error on the log scale, a standard deviation of the covariate: the likelihood is flat
FARTHEST = 50.0  # log time ratio a standard deviation of the covariate
NO_SPREAD = -5.0  # log scale under which all days are alike


class Rows(NamedTuple):
    x: Array
    log_left: Array
    log_right: Array
    weight: Array


class Top(NamedTuple):
    theta: Array
    loglik: float
    curvature: Array
    iterations: int


def start(rows: Rows) -> Array:
    """Least squares on the middle of each interval of log days, or on its one finite end."""
    left, right = np.abs(rows.log_left) < FAR / 2, np.abs(rows.log_right) < FAR / 2
    ends = np.where(left, rows.log_left, 0.0) + np.where(right, rows.log_right, 0.0)
    use = left | right
    if use.sum() <= rows.x.shape[1]:
        use[:] = True
    x, middle = rows.x[use], (ends / np.maximum(left + 1.0 * right, 1))[use]
    slope = np.linalg.lstsq(x, middle, rcond=None)[0]
    return np.append(slope, np.log(max(float((middle - x @ slope).std()), 0.2)))


def _row_slopes(rows: Rows, theta: Array) -> tuple[Array, ...]:
    """Log-likelihood of each row, and its derivatives in (eta, log scale): first two, second three."""
    scale, eta = exp(theta[-1]), rows.x @ theta[:-1]
    low, high = (rows.log_left - eta) / scale, (rows.log_right - eta) / scale
    with np.errstate(all="ignore"):  # a step too far, and exact days before their own terms replace these
        loglik, at_low, at_high, bend_low, bend, bend_high = weibull_error.interval(low, high)
    exact = rows.log_left == rows.log_right
    if exact.any():
        z = high[exact]
        loglik[exact], at_high[exact], bend_high[exact] = weibull_error.exact(z)
        loglik[exact] -= theta[-1] + rows.log_right[exact]
        at_low[exact] = bend_low[exact] = bend[exact] = 0.0
    by_eta, by_scale = -(at_low + at_high) / scale, -(low * at_low + high * at_high)
    twice_eta = (bend_low + 2 * bend + bend_high) / scale**2
    across = (low * (bend_low + bend) + high * (bend_high + bend) + at_low + at_high) / scale
    twice_scale = low * low * bend_low + 2 * low * high * bend + high * high * bend_high - by_scale
    return loglik, by_eta, by_scale - exact, twice_eta, across, twice_scale


def _evaluate(rows: Rows, theta: Array, ridge: Array) -> tuple[float, float, Array, Array]:
    """Penalised and plain log-likelihood, gradient, and curvature (minus the second derivatives) of the penalised."""
    p = len(theta)
    gradient, curvature = -ridge * theta, np.diag(ridge)
    each, by_eta, by_scale, twice_eta, across, twice_scale = (rows.weight * term for term in _row_slopes(rows, theta))
    loglik = float(each.sum())
    gradient[:-1] += by_eta @ rows.x
    gradient[-1] += by_scale.sum()
    curvature[: p - 1, : p - 1] -= (rows.x.T * twice_eta) @ rows.x
    edge = across @ rows.x
    curvature[:-1, -1] -= edge
    curvature[-1, :-1] -= edge
    curvature[-1, -1] -= twice_scale.sum()
    return loglik - float(ridge @ theta**2) / 2, loglik, gradient, curvature


def maximise(rows: Rows, theta: Array, ridge: Array) -> Top | None:
    """The maximum by Newton steps, halved until the likelihood rises; None where it rises for ever."""
    n = float(rows.weight.sum())
    height, loglik, gradient, curvature = _evaluate(rows, theta, ridge)
    for iteration in range(100):
        if not np.isfinite(height) or theta[-1] < NO_SPREAD or np.abs(theta[1:-1]).max(initial=0.0) > FARTHEST:
            return None
        least, lift = float(np.linalg.eigvalsh(curvature)[0]), 0.0
        if least <= 1e-12 * n:
            lift = 1e-3 * n - 2 * least
        step = np.linalg.solve(curvature + lift * np.eye(len(theta)), gradient)
        if float(gradient @ step) < 1e-18 * n:
            settled = lift == 0 and np.sqrt(np.diag(np.linalg.inv(curvature))).max() < TELLS_NOTHING
            return Top(theta, loglik, curvature, iteration) if settled else None
        step /= max(1.0, float(np.abs(step).max()) / 2)
        for _ in range(40):
            tried = _evaluate(rows, theta + step, ridge)
            if tried[0] >= height - 1e-12 * abs(height):
                break
            step = step / 2
        else:
            return None
        theta, (height, loglik, gradient, curvature) = theta + step, tried
    return None


def sandwich(rows: Rows, top: Top, owner: NDArray[np.int64] | None, animals: int) -> Array:
    """
    Covariance of the coefficients from the scores of animals.

    Each animal's score is weighed by the curvature of the others (the leave-one-out form): an animal that draws the
    fit to itself leaves too small a score behind, which makes the plain sandwich, with its m / (m - 1), too sure.
    """
    _, by_eta, by_scale, twice_eta, across, twice_scale = _row_slopes(rows, top.theta)
    score = np.vstack((rows.x.T * by_eta, by_scale)).T
    if owner is not None:
        score = np.column_stack([np.bincount(owner, rows.weight * column) for column in score.T])
    count = rows.weight if owner is None else np.ones(animals)
    if animals > MANY_ANIMALS:
        inverse = np.linalg.inv(top.curvature)
        return inverse @ ((score.T * count) @ score) @ inverse * (animals / (animals - 1))
    own = np.empty((len(rows.x), len(top.theta), len(top.theta)))
    own[:, :-1, :-1] = rows.x[:, :, None] * rows.x[:, None, :] * twice_eta[:, None, None]
    own[:, :-1, -1] = own[:, -1, :-1] = rows.x * across[:, None]
    own[:, -1, -1] = twice_scale
    if owner is not None:
        summed = np.zeros((animals, *top.curvature.shape))
        np.add.at(summed, owner, rows.weight[:, None, None] * own)
        own = summed
    others = top.curvature + own  # `own` holds second derivatives, so adding them takes the animal's curvature away
    if np.linalg.eigvalsh(others)[:, 0].min() < 1e-9 * animals:
        raise TooFewData("one animal alone carries a covariate", "leave the covariate out, or describe the cases")
    influence = np.linalg.solve(others, score[:, :, None])[:, :, 0]
    return (influence.T * count) @ influence * ((animals - 1) / animals)
