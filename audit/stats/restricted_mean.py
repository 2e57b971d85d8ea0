"""
Mean days to healing up to a horizon, as bounds over the innermost intervals, with an animal bootstrap interval.

For coming verbs: `restricted_mean` in groups (compare), `weight` (pool).
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Span
from audit.stats import checked
from audit.stats.npmle import Intervals, cell_bounds, innermost, maximise, observed

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
    innermost interval. The interval runs from the lower limit of the first to the upper limit of the second:
    Student's t with the standard error of a bootstrap of animals (`animal` names the animal of each row; without it
    each case is its own), as percentile and BCa limits are too short for few animals. Raises as `npmle`, AuditError
    for a horizon not above 0 or a level that makes no sense, TooFewData under two animals.

    Efron B, Tibshirani RJ. An Introduction to the Bootstrap, 1993.
    """
    seen = observed(left, right, weight)
    checked.level(level)
    if not 0 < horizon < np.inf:
        raise AuditError(f"the horizon is a day above 0, not {horizon:g}", "count days from surgery")
    if animal is None:
        rows, size = np.arange(len(seen.start)), seen.weight
    else:
        kept = checked.weights(weight, np.size(left)) > 0
        names, rows = np.unique(checked.animals(animal, np.size(left))[kept], return_inverse=True)
        size = np.ones(len(names))
    animals = int(size.sum())
    if animals < 2:
        raise TooFewData("a bootstrap needs at least 2 animals", "give the days themselves instead")
    value, value_to = _bounds(seen, horizon)
    times = rng.multinomial(animals, size / animals, draws) / size  # how often each animal is drawn
    drawn = np.array([_bounds(_reweighted(seen, each[rows]), horizon) for each in times])
    reach = float(stdtrit(animals - 1, (1 + level) / 2)) * drawn.std(axis=0) * np.sqrt(animals / (animals - 1))
    return Estimate(
        quantity=f"mean days to healing, up to day {horizon:g}",
        value=value,
        value_to=value_to,
        low=max(value - float(reach[0]), 0.0),
        high=min(value_to + float(reach[1]), horizon),
        level=level,
        method=f"t with a bootstrap of animals, {draws} draws",
        unit=unit,
        denominator=round(float(seen.weight.sum())),
        animals=animals,
        notes=() if reach.max() > 0 else ("all animals are alike on record, so the bootstrap sees no spread",),
    )


def _bounds(seen: Intervals, horizon: float) -> Span:
    cells = innermost(seen)
    mass = maximise(cells, precision=PRECISION).mass
    left, _ = cell_bounds(cells)
    return float(mass @ np.minimum(left, horizon)), float(mass @ np.minimum(cells.end, horizon))


def _reweighted(seen: Intervals, times: np.ndarray) -> Intervals:
    """The observations each counted `times` over; those not drawn are left out, as they would forbid masses of 0."""
    kept = times > 1e-12
    return Intervals(seen.start[kept], seen.end[kept], seen.weight[kept] * times[kept])
