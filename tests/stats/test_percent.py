import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published

from audit.errors import AuditError, EmptyGroup
from audit.stats.bca import bca_interval
from audit.stats.percent import percent_take

TAKES = st.lists(st.tuples(st.integers(0, 90), st.integers(0, 10), st.integers(1, 6)), min_size=1, max_size=15)


def take(viable, uncertain=None, animals=None):
    return percent_take(viable, uncertain, animals=animals, generator=np.random.default_rng(4))


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
    four = take(np.repeat([60, 75, 80, 95, 100, 40], 4), animals=np.repeat(range(6), 4))
    assert (four.mean.low, four.mean.high) == pytest.approx((one.mean.low, one.mean.high))


def test_interval_by_another_route_when_animals_differ_in_grafts():
    """One draw at a time from the animals themselves, and each left out by hand."""
    animals = [[100, 95, 100], [90], [20, 40], [100, 100, 100, 90], [60], [85, 95]]
    generator = np.random.default_rng(9)
    drawn = [np.concatenate([animals[i] for i in generator.integers(0, 6, size=6)]).mean() for _ in range(8_000)]
    without = [np.concatenate(animals[:i] + animals[i + 1 :]).mean() for i in range(6)]
    values = np.concatenate(animals)
    expected = bca_interval(np.array(drawn), values.mean(), without, animals=6, level=0.9)
    owner = np.repeat(range(6), [len(grafts) for grafts in animals])
    found = percent_take(values, animals=owner, generator=generator, level=0.9, draws=40_000).mean
    assert (found.low, found.high) == pytest.approx(expected, abs=1.0)


def test_impossible_values_and_nothing_are_refused():
    with pytest.raises(AuditError, match="row 1: take from 90 to 110"):
        take([50, 90], [0, 20])
    with pytest.raises(AuditError, match="row 0"):
        take([np.nan])
    with pytest.raises(EmptyGroup, match="no graft"):
        take([])
