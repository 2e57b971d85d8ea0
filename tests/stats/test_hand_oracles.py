"""Small published series whose summaries can be done by hand; the values were printed one by one in the abstracts."""

import numpy as np
import pytest
from visits import wilson

from audit.analyses.published import published_figures
from audit.stats.percent import percent_take
from audit.stats.proportions import clopper_pearson, clustered_share

# Nolff MC, Meyer-Lindenberg A. J Feline Med Surg 2015;17:1041-1048 (abstract): ten grafts, six cats, one with five.
NOLFF = [100] * 7 + [95] * 2 + [80]
# Vishwasrao S. World Small Animal Veterinary Association proceedings 2017 (abstract): eleven dogs.
VISHWASRAO = [100] * 7 + [50] * 2 + [30, 0]


def test_ten_grafts_in_six_cats():
    # The abstract does not say which take belongs to which cat; the cat with five is given the first five here.
    cat = [0, 0, 0, 0, 0, 1, 2, 3, 4, 5]
    found = percent_take(NOLFF, animal=cat, rng=np.random.default_rng(1))
    assert found.mean.value == pytest.approx(97.0)
    assert found.mean.animals == 6
    assert sum(take == 100 for take in NOLFF) == 7
    took = np.bincount(cat, np.array(NOLFF) >= 75)
    share = clustered_share(took, np.bincount(cat))
    assert (share.estimate.numerator, share.estimate.denominator, share.estimate.animals) == (10, 10, 6)
    # Ten alike grafts tell no more than six cats do.
    assert share.effective_n == 6


def test_a_mean_take_of_three_quarters_hides_four_lost_grafts():
    found = percent_take(VISHWASRAO, rng=np.random.default_rng(1))
    assert found.mean.value == pytest.approx(75.45, abs=0.005)
    assert sum(take >= 75 for take in VISHWASRAO) == 7


def test_the_denominators_of_the_axial_flap_series():
    # Field EJ and others. J Small Anim Pract 2015;56:698-706 (abstract): 73 animals, 64 with, 8 without complications.
    (figure,) = (f for f in published_figures() if "Field" in f.source)
    share = figure.share(0.95)
    assert share is not None
    assert (share.numerator, share.denominator) == (64, 72)
    assert round(100 * share.value) == 89
    assert 16 + 29 + 21 + 5 == 71  # animals graded in the same abstract


@pytest.mark.parametrize(
    ("interval", "events", "total", "low", "high"),
    [(clopper_pearson, 27, 30, 73.5, 97.9), (wilson, 27, 30, 74.4, 96.5), (clopper_pearson, 0, 7, 0.0, 41.0)],
)
def test_intervals_of_two_small_series(interval, events, total, low, high):
    found = interval(events, total)
    assert (100 * found.low, 100 * found.high) == pytest.approx((low, high), abs=0.05)
