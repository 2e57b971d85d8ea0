import numpy as np
import pytest

from audit.stats import weibull_error
from audit.stats.aft_likelihood import FAR, Rows, start


def test_the_start_is_least_squares_on_middles_and_single_ends_of_log_days():
    # Middles 1 and 3, a left end of 5, a right end of 7 (by steps of the covariate), and a row that tells nothing.
    x = np.column_stack((np.ones(5), [0.0, 1, 2, 3, 9]))
    rows = Rows(x, np.array([0.0, 2, 5, -FAR, -FAR]), np.array([2.0, 4, FAR, 7, FAR]), np.ones(5))
    assert start(rows) == pytest.approx([1, 2, np.log(0.2)])  # on one line, so the scale is the least there is
    rows = Rows(np.ones((3, 1)), np.array([0.0, 0, 3]), np.array([0.0, 0, 3]), np.ones(3))
    assert start(rows) == pytest.approx([1, np.log(np.sqrt(2))])


@pytest.mark.parametrize(("low", "high"), [(-3.0, -1.0), (-0.5, 0.7), (0.1, 1.4), (-40.0, 0.0), (0.5, 12.0)])
def test_error_of_an_interval_and_its_derivatives_by_finite_differences(low, high):
    def loglik(a, b):
        return np.log(np.exp(-np.exp(a)) - np.exp(-np.exp(b)))

    step, at = 1e-4, np.array([low, high])
    found = [float(term[0]) for term in weibull_error.interval(at[:1], at[1:])]
    first, second = np.array([step, 0]), np.array([0, step])
    slopes = [(loglik(*(at + way)) - loglik(*(at - way))) / (2 * step) for way in (first, second)]
    bends = [
        (loglik(*(at + a + b)) - loglik(*(at + a - b)) - loglik(*(at - a + b)) + loglik(*(at - a - b))) / (4 * step**2)
        for a, b in ((first, first), (first, second), (second, second))
    ]
    assert found == pytest.approx([loglik(low, high), *slopes, *bends], rel=1e-4, abs=1e-5)


def test_error_of_an_exact_day_is_the_least_extreme_value_distribution():
    # Density exp(z - exp(z)); at z = 0 it is 1 / e with slope 0 of its log and bend -1; share 1 - exp(-exp(z)).
    loglik, slope, bend = (float(term[0]) for term in weibull_error.exact(np.zeros(1)))
    assert (loglik, slope, bend) == (-1, 0, -1)
    assert weibull_error.share(np.array([0.0, -1e9, 1e9])) == pytest.approx([1 - np.exp(-1), 0, 1])
