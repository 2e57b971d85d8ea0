import numpy as np
import pytest
from published import published
from scipy.stats import bootstrap, norm

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
