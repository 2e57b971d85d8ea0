"""Masses that maximise a mixture likelihood on few cells, by Newton steps that keep every mass at or above zero."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

from audit.errors import AuditError


@dataclass(frozen=True, slots=True, eq=False)
class MixtureFit:
    """Masses at the maximum; `gap` bounds what is left to gain, `slope` is the greatest gradient in each group."""

    mass: np.ndarray
    loglik: float
    gap: float
    slope: np.ndarray
    iterations: int


def maximise(
    cover: np.ndarray,
    weight: np.ndarray,
    group: np.ndarray,
    total: np.ndarray,
    start: np.ndarray | None = None,
    *,
    limit: int = 500,
) -> MixtureFit:
    """
    Maximise sum(weight * log(cover @ mass)) over masses >= 0 that sum to total[g] over the cells of each group g.

    `cover` (rows, cells) is 1 where a row may come from a cell; every row must be covered by a cell of a group with
    a total above 0. Each round takes an EM step, then solves the quadratic approximation by non-negative least
    squares. Stops when the Kuhn-Tucker gap is at most 1e-10 n (or 1e-6, after many rounds); raises AuditError after
    `limit` rounds.

    Wang Y. J R Stat Soc B 2007;69:185-198 (the constrained Newton method).
    """
    n, sums = float(weight.sum()), np.equal.outer(np.arange(len(total)), group).astype(float)
    mass = _scaled(np.ones(cover.shape[1]) if start is None else start, sums, total)
    tolerance = 1e-10 * n
    for iteration in range(limit):
        if iteration == limit // 10:
            tolerance = max(tolerance, 1e-6)
        density = cover @ mass
        gradient = (weight / density) @ cover
        slope = np.where(sums > 0, gradient, 0.0).max(axis=1)
        gap = float(total @ slope) - n
        if gap <= tolerance:
            return MixtureFit(mass, float(weight @ np.log(density)), max(gap, 0.0), slope, iteration)
        mass = _newton(cover, weight, sums, total, _scaled(mass * gradient, sums, total))
    raise AuditError(f"the incidence was not settled in {limit} rounds (gap {gap:.2g})", "please report this data")


def _scaled(mass: np.ndarray, sums: np.ndarray, total: np.ndarray) -> np.ndarray:
    held = sums @ mass
    even = (total / np.maximum(sums.sum(axis=1), 1)) @ sums  # for a group that holds nothing yet
    factor = np.divide(total, held, out=np.zeros_like(held), where=held > 0)
    return np.where((held > 0) @ sums > 0, mass * (factor @ sums), even)


def _newton(cover: np.ndarray, weight: np.ndarray, sums: np.ndarray, total: np.ndarray, mass: np.ndarray) -> np.ndarray:
    density, root = cover @ mass, np.sqrt(weight)
    firm = 1e2 * np.sqrt(weight.sum())  # holds the totals as an augmented Lagrangian, the slopes its multipliers
    slope = np.where(sums > 0, (weight / density) @ cover, 0.0).max(axis=1)
    open_cells = (total > 0) @ sums > 0
    rows = np.vstack((cover * (root / density)[:, None], firm * sums))[:, open_cells]
    aim = np.zeros_like(mass)
    aim[open_cells] = nnls(rows, np.concatenate((2 * root, firm * total - slope / firm)), maxiter=50 * rows.shape[1])[0]
    step = _scaled(aim, sums, total) - mass
    loglik, gain = weight @ np.log(density), (weight / density) @ (cover @ step)
    for _ in range(40):
        density = cover @ (mass + step)
        if density.min() > 0 and weight @ np.log(density) >= loglik + 1e-4 * gain:
            return np.maximum(mass + step, 0.0)
        step, gain = step / 2, gain / 2
    return mass
