"""Limits of a coefficient that ends at 1, such as a correlation or an agreement, on Fisher's scale."""

from math import atanh, sqrt, tanh

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from audit.results import Span
from audit.stats import checked


def z_interval(value: float, error: float, *, animals: int, level: float) -> Span:
    """
    Limits tanh(z - t * error) to tanh(z + t * error) around z = atanh(value), where `error` is that of z.

    The scale on which the spread of a correlation hardly depends on its size, so that no limit passes 1. Student's t
    has one degree of freedom less than animals. Fisher RA. Metron 1921;1:3-32 (from memory).

    >>> low, high = z_interval(0.9, 0.2, animals=20, level=0.95)
    >>> round(low, 3), round(high, 3)
    (0.783, 0.955)
    """
    checked.level(level)
    reach = float(stdtrit(animals - 1, (1 + level) / 2)) * error
    return tanh(atanh(value) - reach), tanh(atanh(value) + reach)


def jackknife_error(leave_one_out: ArrayLike) -> float:
    """
    Standard error of an estimate from its values without each animal in turn.

    Tukey's; for variance components on a transformed scale: Arvesen JN, Schmitz TH. Biometrics 1970;26:677-686 (from
    memory).

    >>> round(jackknife_error([4.0, 3.0, 2.0]), 3)  # means without one of 1, 3, 5, which spread by 2 / sqrt(3)
    1.155
    """
    values = np.asarray(leave_one_out, dtype=float)
    return sqrt((len(values) - 1) / len(values) * float(((values - values.mean()) ** 2).sum()))
