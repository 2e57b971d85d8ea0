"""
Partial pooling of shares by level (a location, a method): each level borrows from the others what they allow.

For a coming verb: what other practices would expect (expect).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import betainc, betaln, expit, log_expit, ndtri, roots_legendre

from audit.errors import AuditError, EmptyGroup
from audit.results import Estimate, Tidy, tidy
from audit.stats import checked

if TYPE_CHECKING:
    import pandas as pd

NODES = 48
PRIOR = (
    "overall share uniform on 0 to 1; between-level standard deviation uniform on 0 to its largest possible value, "
    "sqrt(share x (1 - share))"
)


@dataclass(frozen=True, slots=True)
class PooledShares(Tidy):
    """
    Posterior means and equal-tailed intervals: one estimate a level in the order given, the overall share, and the
    spread, which is the standard deviation between levels of the true share. Levels are not ranked.
    """

    levels: tuple[Estimate, ...]
    overall: Estimate
    spread: Estimate
    prior: str

    @property
    def frame(self) -> "pd.DataFrame":
        """One row a level, then the overall share and the spread, with `audit.results.TIDY_COLUMNS`."""
        return tidy([*self.levels, self.overall, self.spread])


def pooled_shares(
    names: Sequence[str],
    successes: ArrayLike,
    totals: ArrayLike,
    *,
    unit: str = "animals",
    level: float = 0.95,
) -> PooledShares:
    """
    Shares by level under a full-Bayes beta-binomial model, integrated on a fixed grid: no sampling, no seed.

    Successes and totals may be effective numbers, so fractions. A level with no cases gets the share expected of a new
    level. The prior is `PRIOR`. Raises EmptyGroup where all totals are 0. Model: Gelman A et al. Bayesian Data
    Analysis, 3rd edition 2013, section 5.3, there with another prior.

    >>> pooled = pooled_shares(["antebrachium", "crus", "flank"], [9, 4, 5], [10, 8, 5])
    >>> [round(estimate.value, 2) for estimate in pooled.levels]
    [0.84, 0.6, 0.88]
    """
    checked.level(level)
    y, n = checked.numbers(successes, "successes"), checked.numbers(totals, "total")
    checked.same_length(names=list(names), successes=y, totals=n)
    if n.sum() == 0:
        raise EmptyGroup("no level has cases", "widen the dates or leave the question out")
    if (y < 0).any() or (y > n).any():
        raise AuditError("each level needs a name, a total, and successes from 0 to the total", "check the tallies")
    share, correlation, weight = _posterior(y, n)
    size = (1 - correlation) / correlation
    first, second = share * size, (1 - share) * size
    spread = np.sqrt(share * (1 - share) * correlation)
    tails = ((1 - level) / 2, (1 + level) / 2)

    def estimate(quantity: str, value: float, ends: Iterable[float]) -> Estimate:
        low, high = ends
        return Estimate(
            quantity=quantity,
            value=value,
            value_to=value,
            low=low,
            high=high,
            level=level,
            method="beta-binomial, full Bayes by quadrature",
            unit=unit,
        )

    levels = tuple(
        replace(
            estimate(
                "share",
                float(weight @ ((first + took) / (size + cases))),
                (_mixture_quantile(tail, first + took, second + cases - took, weight) for tail in tails),
            ),
            group=name,
            numerator=round(took),
            denominator=round(cases),
            animals=round(cases) if unit == "animals" else None,
        )
        for name, took, cases in zip(names, y, n, strict=True)
    )
    overall = estimate("overall share", float(weight @ share), (_grid_quantile(tail, share, weight) for tail in tails))
    between = estimate(
        "standard deviation between levels",
        float(weight @ spread),
        (_grid_quantile(tail, spread, weight) for tail in tails),
    )
    return PooledShares(levels, overall, between, PRIOR)


def _posterior(y: NDArray, n: NDArray) -> tuple[NDArray, NDArray, NDArray]:
    """
    Grid of the overall share and the intra-level correlation, with posterior weights that add up to 1.

    Both axes are logits (of the share, and of the root of the correlation, which is the relative spread). A box that
    closes in on the mass in three looks serves from five cases to millions.
    """
    box = np.array([[-14.0, 14.0], [-9.0, 9.0]])
    for _ in range(3):
        centre, spread = np.meshgrid(*(np.linspace(low, high, NODES) for low, high in box), indexing="ij")
        near = _log_density(centre, spread, y, n)
        near = near > near.max() - 18
        for axis, values in enumerate((centre, spread)):
            step = (box[axis, 1] - box[axis, 0]) / (NODES - 1)
            box[axis] = values[near].min() - step, values[near].max() + step
    node, node_weight = roots_legendre(NODES)
    axes = [(low + high) / 2 + (high - low) / 2 * node for low, high in box]
    centre, spread = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
    density = _log_density(centre, spread, y, n)
    weight = np.exp(density - density.max()) * np.outer(node_weight, node_weight).ravel()
    kept = weight > 1e-10 * weight.max()
    weight = weight[kept] / weight[kept].sum()
    return expit(centre[kept]), expit(spread[kept]) ** 2, weight


def _log_density(centre: NDArray, spread: NDArray, y: NDArray, n: NDArray) -> NDArray:
    share, correlation = expit(centre), expit(spread) ** 2
    size = (1 - correlation) / correlation
    first, second = share * size, (1 - share) * size
    # Uniform priors on the share and the relative spread, so the density of each logit is p (1 - p).
    density = log_expit(centre) + log_expit(-centre) + log_expit(spread) + log_expit(-spread)
    for took, cases in zip(y, n, strict=True):
        density = density + betaln(first + took, second + cases - took) - betaln(first, second)
    return density


def _mixture_quantile(probability: float, first: NDArray, second: NDArray, weight: NDArray) -> float:
    def excess(share: float) -> float:
        return float(weight @ betainc(first, second, share)) - probability

    return float(brentq(excess, 0.0, 1.0, xtol=1e-10))


def _grid_quantile(probability: float, values: NDArray, weight: NDArray) -> float:
    # A node of the share is there once for every node of the spread. Half its weight lies below it, and between nodes
    # normal scores are nearly straight.
    ordered, place = np.unique(values, return_inverse=True)
    held = np.bincount(place, weight)
    below = np.cumsum(held) - held / 2
    return float(np.interp(ndtri(probability), ndtri(below), ordered))
