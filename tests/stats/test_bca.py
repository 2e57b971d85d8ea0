import numpy as np
import pytest
from published import published
from scipy.stats import bootstrap, norm

from audit.errors import AuditError
from audit.stats.bca import acceleration, bca_interval, percentile_levels


# Efron B, Tibshirani R. An Introduction to the Bootstrap, 1993, chapter 14: variance of the spatial test data.
def test_pieces_match_efron_and_tibshirani():
    case = published("percent", "bca-acceleration-spatial")
    x = np.array(case.data["x"], dtype=float)
    without_each = [np.delete(x, i).var() for i in range(len(x))]
    assert x.var() == case["theta"]
    assert acceleration(without_each) == case["acceleration"]
    z_90 = 1.6448536269514722
    assert list(percentile_levels(case.data["z0"], acceleration(without_each), z_90)) == case["alpha_levels"]


def test_interval_nears_scipy_when_animals_are_many():
    """With 400 animals the widening is a fraction of a percent; scipy draws its own replicates."""
    generator = np.random.default_rng(3)
    x = 100 * generator.beta(4, 1, size=400)
    replicates = generator.multinomial(400, np.full(400, 1 / 400), size=20_000) @ x / 400
    found = bca_interval(replicates, x.mean(), (x.sum() - x) / 399, animals=400, level=0.95)
    theirs = bootstrap((x,), np.mean, n_resamples=20_000, method="BCa", rng=generator).confidence_interval
    assert found == pytest.approx((theirs.low, theirs.high), abs=0.1)


# Student's t with 4 degrees of freedom, 0.975, from printed tables: 2.776445.
def test_few_animals_widen_the_levels():
    """Replicates spread evenly over 0 to 1 give back the levels at which they are read."""
    low, high = bca_interval(np.linspace(0, 1, 100_001), 0.5, [0.4, 0.45, 0.5, 0.55, 0.6], animals=5, level=0.95)
    expected = norm.cdf(-2.776445 * np.sqrt(5 / 4))
    assert (low, 1 - high) == pytest.approx((expected, expected), abs=1e-6)


def test_replicates_equal_to_the_estimate_count_half_below_it():
    # Two below, two equal and one above: 3 / 5 below, so a bias of 0.2533 (any table of the normal distribution).
    replicates, z = np.repeat([1.0, 2, 3], [2, 2, 1]) * 100, 2.776445 * np.sqrt(5 / 4)
    found = bca_interval(replicates, 200, [1, 1, 1, 1, 1], animals=5, level=0.95)
    assert found == pytest.approx(np.quantile(replicates, norm.cdf(2 * 0.253347 + np.array([-z, z]))), abs=1e-3)


@pytest.mark.parametrize(("estimate", "sign"), [(-1, -1), (2, 1)])
def test_an_estimate_beyond_all_replicates_is_as_far_as_the_next_would_be(estimate, sign):
    # None, or all, of 999 below: as if 1 of 1,000 were, a bias of 3.0902 either way.
    replicates = np.linspace(0, 1, 999)
    found = bca_interval(replicates, estimate, [0.0] * 5, animals=5, level=0.95)
    z = 2.776445 * np.sqrt(5 / 4)
    assert found == pytest.approx(norm.cdf(sign * 2 * 3.090232 + np.array([-z, z])), abs=1e-6)


def test_leaving_one_out_that_changes_nothing_has_no_acceleration():
    assert acceleration([3, 3, 3]) == 0
    # Away from their mean of 2: 1, 1 and -2, so -6 / (6 x 6^1.5).
    assert acceleration([1, 1, 4]) == pytest.approx(-(6**-1.5))


def test_a_level_in_percent_is_refused():
    with pytest.raises(AuditError, match="a confidence level lies between"):
        bca_interval(np.linspace(0, 1, 99), 0.5, [0.4, 0.6], animals=2, level=95)
