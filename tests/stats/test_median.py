import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from audit.errors import EmptyGroup
from audit.stats.median import median_interval


# Conover WJ. Practical Nonparametric Statistics, 3rd edition 1999, section 3.2: order statistics whose places are
# those of the binomial distribution with one half.
@given(st.lists(st.integers(0, 40), min_size=6, max_size=40, unique=True))
@settings(deadline=None, max_examples=40)
def test_limits_are_the_order_statistics_of_the_sign_test(values):
    found, ordered = median_interval(values, quantity="changes"), np.sort(values)
    outside = int(binom.ppf(0.025, len(values), 0.5))
    assert binom.cdf(outside - 1, len(values), 0.5) <= 0.025 < binom.cdf(outside, len(values), 0.5)
    assert (found.low, found.high) == (ordered[outside - 1], ordered[-outside])
    assert found.value == np.median(values)


def test_five_values_have_no_interval_and_none_no_median():
    five = median_interval([1, 2, 3, 4, 5], quantity="changes")
    assert (five.value, five.low, five.high) == (3, None, None)
    with pytest.raises(EmptyGroup, match="no value of changes"):
        median_interval([], quantity="changes")
