import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from scipy.stats import beta

from audit.errors import AuditError, EmptyGroup
from audit.stats.percent import percent_take

TAKES = st.lists(st.tuples(st.integers(0, 90), st.integers(0, 10), st.integers(1, 6)), min_size=1, max_size=15)


def take(viable, uncertain=None, animal=None):
    return percent_take(viable, uncertain, animal=animal, rng=np.random.default_rng(4))


def test_all_took_fully_has_the_exact_one_sided_bound():
    case = published("percent", "bca-degenerate")
    mean = take(100 * np.array(case.data["x"])).mean
    assert (mean.value, mean.high) == (100, 100)
    assert mean.low / 100 == case["binomial_lower_95_one_sided"]


@given(TAKES)
@settings(deadline=None)
def test_mean_stays_in_its_interval_and_order_changes_nothing(rows):
    viable, uncertain, animals = np.array(rows).T
    found = take(viable, uncertain, animals)
    assert 0 <= found.mean.low <= found.mean.value <= found.mean.value_to <= found.mean.high <= 100
    back = take(viable[::-1], uncertain[::-1], animals[::-1])
    assert (back.mean.low, back.mean.high) == (found.mean.low, found.mean.high)
    assert (back.median, back.lower_quartile) == (found.median, found.lower_quartile)
    assert sorted(found.viable) == sorted(viable)


def test_median_and_quartiles_are_bounded_by_the_doubtful_parts():
    found = take([50, 80, 90, 100, 60], [20, 10, 0, 0, 0])
    assert found.median == (80, 90)
    assert found.lower_quartile == (60, 70)
    assert found.upper_quartile == (90, 90)


def test_doubt_widens_the_bounds_and_moves_no_sure_value():
    viable = [50, 55, 60, 65, 70, 75, 80, 85]
    sure, doubtful = take(viable).mean, take(viable, [30, 0, 0, 0, 0, 0, 0, 0]).mean
    assert doubtful.value == sure.value
    assert doubtful.value_to > sure.value_to
    assert doubtful.low == sure.low
    assert doubtful.high > sure.high


def test_grafts_of_one_animal_count_once():
    """Four copies of each animal's graft say no more than one copy."""
    one = take([60, 75, 80, 95, 100, 40])
    four = take(np.repeat([60, 75, 80, 95, 100, 40], 4), animal=np.repeat(range(6), 4))
    assert (four.mean.low, four.mean.high) == pytest.approx((one.mean.low, one.mean.high))


@pytest.mark.parametrize("full", [1, 6, 11])
def test_takes_of_0_or_100_have_the_limits_of_jeffreys(full):
    """The interval of a share by another route: quantiles of a beta distribution."""
    values = np.repeat([100, 0], [full, 12 - full])
    found = percent_take(values, rng=np.random.default_rng(9), draws=100_000).mean
    expected = 100 * beta.ppf([0.025, 0.975], full + 0.5, 12.5 - full)
    assert (found.low, found.high) == pytest.approx(tuple(expected), abs=0.5)


def test_interval_by_another_route_when_animals_differ_in_grafts():
    """One draw at a time from a Dirichlet distribution over the animals themselves and the two halves added."""
    animals = [[100, 95, 100], [90], [20, 40], [100, 100, 100, 90], [60], [85, 95]]
    rng = np.random.default_rng(9)
    typical = np.mean([len(grafts) for grafts in animals])
    takes = [*(np.mean(grafts) for grafts in animals), 0, 100]
    grafts = [*(len(grafts) for grafts in animals), typical, typical]
    drawn = [np.average(takes, weights=grafts * rng.dirichlet([1] * 6 + [0.5] * 2)) for _ in range(8_000)]
    owner = np.repeat(range(6), grafts[:6])
    found = percent_take(np.concatenate(animals), animal=owner, rng=rng, level=0.9, draws=40_000).mean
    assert (found.low, found.high) == pytest.approx(tuple(np.quantile(drawn, [0.05, 0.95])), abs=1.0)


def test_impossible_values_and_nothing_are_refused():
    with pytest.raises(AuditError, match="row 1: take from 90 to 110"):
        take([50, 90], [0, 20])
    with pytest.raises(AuditError, match="row 0"):
        take([np.nan])
    with pytest.raises(EmptyGroup, match="no graft"):
        take([])


# By hand: with n animals alike the share of others may be 1 - 0.1^(1 / n) at a level of 0.9.
def test_takes_all_alike_move_by_the_animals_that_may_be_missing():
    found = percent_take([90] * 6, animal=[1, 1, 2, 3, 3, 4], rng=np.random.default_rng(4), level=0.9).mean
    other = 1 - 0.1 ** (1 / 4)
    assert (found.low, found.high) == pytest.approx((90 * (1 - other), 90 + 10 * other))
    assert (found.animals, found.denominator, found.level) == (4, 6, 0.9)


def test_animals_of_one_mean_but_unlike_grafts_are_alike():
    # Both animals have a mean of 80: one from two grafts, one from one.
    found = take([70, 90, 80], animal=["a", "a", "b"]).mean
    assert (found.low, found.high) == pytest.approx((80 * 0.05**0.5, 100 - 20 * 0.05**0.5))


def test_the_ends_of_percent_are_allowed():
    found = take([0, 100, 40], [100, 0, 60])
    assert (found.viable.tolist(), found.viable_to.tolist()) == ([0, 100, 40], [100, 100, 100])
    assert (found.mean.value, found.mean.value_to) == (pytest.approx(140 / 3), 100)
    for viable, uncertain in ((-1, 0), (50, -1), (101, 0)):
        with pytest.raises(AuditError, match="row 0: take from"):
            take([viable], [uncertain])
