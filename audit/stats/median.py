"""The median of measured values, with an interval that assumes nothing of their shape."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import quantile_test

from audit.errors import EmptyGroup
from audit.results import Estimate
from audit.stats import checked


def median_interval(values: ArrayLike, *, quantity: str, unit: str = "animals", level: float = 0.95) -> Estimate:
    """
    Median and its exact interval by inverting the sign test; an end is None where so few values cannot bound it.

    One value an independent unit. Raises EmptyGroup when there is none.
    Conover WJ. Practical Nonparametric Statistics, 3rd edition 1999, section 3.2.

    >>> found = median_interval([3, 4, 4, 5, 6, 7, 9, 12], quantity="changes")
    >>> found.value, found.low, found.high
    (5.5, 3.0, 12.0)
    """
    checked.level(level)
    known = checked.numbers(values, "value")
    if not known.size:
        raise EmptyGroup(f"no value of {quantity}", "widen the dates or leave the question out")
    middle = float(np.median(known))
    limits = quantile_test(known, q=middle, p=0.5).confidence_interval(confidence_level=level)
    low, high = (None if np.isnan(end) else float(end) for end in limits)
    return Estimate(
        quantity=quantity, value=middle, value_to=middle, low=low, high=high, level=level,
        method="exact sign-test interval", unit=unit, denominator=known.size,
        notes=() if None not in (low, high) else ("too few values for an interval on both sides",),
    )  # fmt: skip
