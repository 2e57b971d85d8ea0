"""Mean days to healing up to a horizon, as bounds over the innermost intervals, with an animal bootstrap interval."""

from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Span
from audit.stats.npmle import Intervals, cell_bounds, climb, innermost, observed

PRECISION = 1e-6  # gap a case for a replicate: far inside the spread between replicates


def restricted_mean(
    left: ArrayLike,
    right: ArrayLike,
    horizon: float,
    rng: np.random.Generator,
    *,
    animal: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    draws: int = 2000,
    level: float = 0.95,
    unit: str = "animals",
) -> Estimate:
    """
    Mean of the day of healing or `horizon`, whichever is first, from days known to lie in (left, right].

    [value, value_to] are the means with every mass of the healing curve at the left and at the right end of its
    innermost interval. The interval runs from the lower limit of the first to the upper limit of the second, by
    bootstrap of animals (`animal` names the animal of each row; without it each case is its own). Raises as
    `npmle`, AuditError for a horizon not above 0, TooFewData under two animals.

    BCa form: Efron B. J Am Stat Assoc 1987;82:171-185.
    """
    seen = observed(left, right, weight)
    if not 0 < horizon < np.inf:
        raise AuditError(f"the horizon is a day above 0, not {horizon:g}")
    if animal is None:
        rows, size = np.arange(len(seen.start)), seen.weight
    else:
        kept = slice(None) if weight is None else np.asarray(weight) > 0
        names, rows = np.unique(np.asarray(animal)[kept], return_inverse=True)
        size = np.ones(len(names))
    animals = int(size.sum())
    if animals < 2:
        raise TooFewData("a bootstrap needs at least 2 animals; give the days themselves instead")
    value, value_to = _bounds(seen, horizon)
    times = rng.multinomial(animals, size / animals, draws) / size  # how often each animal is drawn
    drawn = np.array([_bounds(_reweighted(seen, each[rows]), horizon) for each in times])
    without = np.eye(len(size)) / size
    left_out = np.array([_bounds(_reweighted(seen, 1 - each[rows]), horizon) for each in without])
    low, high = (
        _bca_limit(estimate, drawn[:, side], left_out[:, side], size, tail)
        for side, estimate, tail in ((0, value, (1 - level) / 2), (1, value_to, (1 + level) / 2))
    )
    return Estimate(
        quantity=f"mean days to healing, up to day {horizon:g}",
        value=value,
        value_to=value_to,
        low=min(low, value),
        high=max(high, value_to),
        level=level,
        method=f"BCa bootstrap of animals, {draws} draws",
        unit=unit,
        denominator=round(float(seen.weight.sum())),
        animals=animals,
        notes=(),
    )


def _bounds(seen: Intervals, horizon: float) -> Span:
    cells = innermost(seen)
    mass = climb(cells, precision=PRECISION).mass
    left, _ = cell_bounds(cells)
    return float(mass @ np.minimum(left, horizon)), float(mass @ np.minimum(cells.end, horizon))


def _reweighted(seen: Intervals, times: np.ndarray) -> Intervals:
    """The observations each counted `times` over; those not drawn are left out, as they would forbid masses of 0."""
    kept = times > 1e-12
    return Intervals(seen.start[kept], seen.end[kept], seen.weight[kept] * times[kept])


def _bca_limit(estimate: float, drawn: np.ndarray, left_out: np.ndarray, size: np.ndarray, tail: float) -> float:
    normal = NormalDist()
    below = ((drawn < estimate - 1e-9).sum() + 0.5 * (abs(drawn - estimate) <= 1e-9).sum()) / len(drawn)
    bias = normal.inv_cdf(min(max(below, 1 / len(drawn)), 1 - 1 / len(drawn)))
    pull = (size @ left_out) / size.sum() - left_out
    spread = float(size @ pull**2)
    skew = float(size @ pull**3) / (6 * spread**1.5) if spread > 1e-18 else 0.0
    z = bias + normal.inv_cdf(tail)
    return float(np.quantile(drawn, normal.cdf(bias + z / (1 - skew * z))))
