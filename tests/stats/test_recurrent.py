import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published

from audit.errors import AuditError, EmptyGroup
from audit.stats.recurrent import longest_gaps, mean_cumulative, phase_rates


def split(data):
    """Event rows and end rows of a table with status 1 for an event and 0 for the end."""
    animal, time, status = (np.array(data[name]) for name in ("id", "time", "status"))
    return animal[status == 1], time[status == 1], animal[status == 0], time[status == 0]


# Nelson WB. Technometrics 1995;37:147-157: valve seats of 41 engines; robust errors from R package survival.
def test_curve_matches_the_valve_seats():
    case = published("recurrent", "mcf-valve-seat")
    found = mean_cumulative(*split(case.data))
    assert list(found.day) == case["age"]
    assert list(found.at_risk) == case["n_at_risk"]
    assert list(found.mean) == case["mcf"]
    assert list(found.standard_error) == case["se_robust"]


def test_three_units_by_hand():
    case = published("recurrent", "mcf-hand")
    found = mean_cumulative(*split(case.data))
    assert list(found.mean) == case["mcf"]
    assert list(found.standard_error) == case["se_robust"]


def test_animals_all_alike_still_have_limits():
    """All had changes on days 3 and 6: no variance between animals, so Poisson's, with errors 1/2 and sqrt(8)/4."""
    found = mean_cumulative([1, 2, 3, 4] * 2, [3] * 4 + [6] * 4, [1, 2, 3, 4], [9] * 4)
    factor = np.exp(1.959964 * np.array([1 / 2, np.sqrt(8) / 4]) / [1, 2])
    assert found.low == pytest.approx([1, 2] / factor)
    assert found.high == pytest.approx([1, 2] * factor)


# Student's t with 2 degrees of freedom, 0.975, from printed tables: 4.302653.
def test_limits_are_on_the_log_scale():
    case = published("recurrent", "mcf-hand")
    found = mean_cumulative(*split(case.data))
    assert found.high[1] == pytest.approx(4 / 3 * np.exp(4.302653 * 1.5 * case.value("se_robust")[1] / (4 / 3)))
    assert found.low * found.high == pytest.approx(found.mean**2)


ANIMALS = st.lists(
    st.integers(0, 40).flatmap(lambda end: st.tuples(st.just(end), st.lists(st.integers(0, end), max_size=5))),
    min_size=1,
    max_size=8,
)


def rows(animals):
    events = [(i, day) for i, (_, days) in enumerate(animals) for day in days]
    who, when = np.array(events, dtype=int).reshape(-1, 2).T
    return who, when, np.arange(len(animals)), np.array([end for end, _ in animals])


@given(ANIMALS)
@settings(deadline=None, max_examples=50)
def test_order_changes_nothing_and_phases_share_out_all_events(animals):
    who, when, names, ends = rows(animals)
    found = mean_cumulative(who, when, names, ends)
    again = mean_cumulative(who[::-1], when[::-1], names[::-1], ends[::-1])
    assert again.mean == pytest.approx(found.mean)
    assert again.standard_error == pytest.approx(found.standard_error, abs=1e-9)
    rates = phase_rates(who, when, names, ends)
    assert sum(rate.numerator for rate in rates) == len(who)
    assert sum(rate.denominator for rate in rates) == (ends + 1).sum()
    assert all(rate.low <= rate.value <= rate.high for rate in rates if rate.value is not None)


# Garwood F. Biometrika 1936;28:437-442: with no event the upper limit is -ln(0.025) = 3.689 events.
def test_no_event_and_unreached_phase():
    early, late = phase_rates([], [], ["a", "b"], [4, 4], phases=((0, 7), (8, None)))
    assert (early.value, early.low) == (0, 0)
    assert early.high == pytest.approx(3.6888794541 / 10)
    assert (late.value, late.low, late.high) == (None, None, None)
    assert "no animal" in late.notes[0]


def test_rate_covers_the_truth_when_animals_differ():
    """Planted truth: 12 animals with gamma rates of mean 0.5 a day, each seen 8 days; Poisson limits are too short."""
    rng = np.random.default_rng(12)
    covered = 0
    for _ in range(400):
        counts = rng.poisson(8 * rng.gamma(4, 0.125, size=12))
        who = np.repeat(np.arange(12), counts)
        rate = phase_rates(who, np.full(len(who), 3), np.arange(12), np.full(12, 7), phases=((0, 7),))[0]
        covered += rate.low <= 0.5 <= rate.high
    assert 0.92 <= covered / 400 <= 0.985


def test_longest_gap_counts_both_ends():
    gaps = longest_gaps(["b", "a", "b"], [3, 1, 4], ["a", "b", "c"], [20, 5, 6])
    assert gaps.tolist() == [19, 3, 6]


def test_impossible_rows_are_refused():
    with pytest.raises(AuditError, match="event 1, graft 2, day 9"):
        mean_cumulative([1, 2], [1, 9], [1, 2], [5, 5])
    with pytest.raises(AuditError, match="event 0, graft 7"):
        longest_gaps([7], [1], [1, 2], [5, 5])
    with pytest.raises(AuditError, match="listed once"):
        longest_gaps([1], [1], [1, 1], [5, 6])
    with pytest.raises(EmptyGroup):
        longest_gaps([], [], [], [])


def test_grafts_of_one_animal_count_as_one_in_the_variance():
    # Each animal twice over: the same mean, and the variance of the animals alone.
    alone = mean_cumulative([1, 1, 2], [2, 5, 5], [1, 2, 3], [10, 8, 4])
    twice = mean_cumulative(
        [1, 1, 2, 4, 4, 5], [2, 5, 5] * 2, [1, 2, 3, 4, 5, 6], [10, 8, 4] * 2, animal=[1, 2, 3, 1, 2, 3]
    )
    np.testing.assert_allclose(twice.mean, alone.mean)
    np.testing.assert_allclose(twice.standard_error, alone.standard_error)
    assert twice.animals == alone.animals
    rates = phase_rates([1, 1, 2], [2, 5, 5], [1, 2, 3], [10, 8, 4])
    doubled = phase_rates([1, 1, 2, 4, 4, 5], [2, 5, 5] * 2, [1, 2, 3, 4, 5, 6], [10, 8, 4] * 2, animal=[1, 2, 3] * 2)
    assert doubled[0].value == rates[0].value
    assert doubled[0].animals == rates[0].animals


def test_rates_by_hand_at_the_borders_of_a_phase():
    # Days 2 to 5: animal 1 has events on days 1, 2, 5 and 6 and is seen to day 9, animal 2 one on day 3, its last.
    (rate,) = phase_rates([1, 1, 1, 1, 2], [1, 2, 5, 6, 3], [1, 2], [9, 3], phases=((2, 5),))
    assert (rate.numerator, rate.denominator, rate.value, rate.animals) == (3, 6, 0.5, 2)
    # Residuals 2 - 4 / 2 and 1 - 2 / 2 are nil, so the variance is Poisson's, 3 / 36; t with 1 degree is 12.7062.
    assert np.log([rate.high / 0.5, 0.5 / rate.low]) == pytest.approx([12.7062 * np.sqrt(3) / 6 / 0.5] * 2, abs=1e-4)
    assert rate.quantity == "events an animal-day, days 2 to 5"


def test_rate_of_animals_that_differ_by_hand():
    # 8, 1 and 0 events on 4 days each: rate 3 / 4, residuals 5, -2, -3, variance 3 / 2 x 38 / 144; t with 2 degrees.
    (rate,) = phase_rates([1] * 8 + [2], [1, 1, 2, 2, 3, 3, 4, 4, 2], [1, 2, 3], [4] * 3, phases=((1, None),))
    assert rate.value == 0.75
    assert np.log(rate.high / 0.75) == pytest.approx(4.302653 * np.sqrt(57 / 144) / 0.75, abs=1e-5)
    assert rate.quantity == "events an animal-day, days 1+"


# Garwood F. Biometrika 1936;28:437-442: 2 events seen have the limits 0.2422 and 7.2247 (any table of them).
def test_one_animal_has_the_exact_limits_of_poisson():
    (rate,) = phase_rates([1, 1], [2, 3], [1], [9], phases=((0, None),))
    assert (rate.low, rate.high) == pytest.approx((0.02422, 0.72247), abs=1e-5)
    assert rate.method == "exact Poisson (Garwood)"


def test_an_animal_whose_last_day_begins_the_phase_is_in_it():
    early, late = phase_rates([], [], ["a", "b"], [8, 7.5], phases=((0, 7), (8, None)))
    assert (early.denominator, early.animals, late.denominator, late.animals) == (16, 2, 1, 1)


def test_curve_by_hand_where_an_animal_leaves_on_the_day_of_an_event():
    # Four at risk on day 3, on which one leaves; three on day 5. Means 2 / 4 and 2 / 4 + 1 / 3.
    found = mean_cumulative([1, 2, 3], [3, 3, 5], [1, 2, 3, 4], [3, 9, 9, 9])
    assert (found.at_risk.tolist(), found.events.tolist(), found.animals) == ([4, 3], [2, 1], 4)
    assert found.mean == pytest.approx([1 / 2, 5 / 6])
    # Influences on day 3: (1 - 1/2) / 4 twice and -1/8 twice; on day 5 more by (1 - 1/3) / 3 and by -1/9 twice.
    on_3 = np.array([1, 1, -1, -1]) / 8
    on_5 = on_3 + np.array([0, -1, 2, -1]) / 9
    error = np.sqrt([(on_3**2).sum(), (on_5**2).sum()])
    assert found.standard_error == pytest.approx(error)
    reach = np.exp(3.182446 * 4 / 3 * error / found.mean)  # Student's t with 3 degrees of freedom, any table
    assert found.high == pytest.approx(found.mean * reach, rel=1e-5)


def test_grafts_named_in_two_kinds_or_events_before_surgery_are_refused():
    with pytest.raises(AuditError, match="numbers in one list and text in the other"):
        longest_gaps(["1"], [2], [1, 2], [5, 5])
    with pytest.raises(AuditError, match="row 0: day -1"):
        longest_gaps([1], [-1], [1, 2], [5, 5])
    assert longest_gaps([1], [5], [1, 2], [5, 5]).tolist() == [5, 5]
