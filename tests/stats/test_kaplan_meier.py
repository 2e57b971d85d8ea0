"""Median follow-up: medians of Kaplan-Meier curves of published data, with leaving and event changed about."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published

from audit.errors import AuditError, EmptyGroup
from audit.stats.kaplan_meier import follow_up

FOLLOWED = st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=30)


def reversed_median(case, chosen=slice(None)):
    """The median of a curve whose events are the leaving of observation."""
    day, status = np.array(case.data["time"]), np.array(case.data["status"])
    return follow_up(day[chosen], status[chosen] == 0)


# Recomputed in R (survfit) on the data of Miller RG. Survival Analysis, 1981: maintenance in acute myeloid leukaemia.
@pytest.mark.parametrize("arm", ["Maintained", "Nonmaintained"])
def test_medians_of_the_leukaemia_trial(arm):
    case = published("survival", "km-aml")
    median = reversed_median(case, np.array(case.data["group"]) == arm)
    assert [median.value, median.low, median.high] == case.value(f"{arm.lower()}_median_ci")


# Freireich EJ et al. Blood 1963;21:699-716: 6-MP; the median is printed (from memory), its limits recomputed in R.
def test_a_median_is_reached_but_its_upper_limit_is_not():
    case = published("survival", "km-freireich-6mp-median")
    median = reversed_median(case)
    assert (median.value, median.low, median.high) == (
        case.value("median"),
        case.value("loglog_lower"),
        case.value("loglog_upper"),
    )
    assert median.notes == ("upper limit not reached by day 35",)


def test_leaving_comes_before_an_event_of_the_same_day():
    # By hand: of three one leaves and one dies on day 5, who was still followed when the other left: 2/3 are left.
    assert follow_up([5, 5, 9], [False, True, False]).value == 9


@given(FOLLOWED)
@settings(max_examples=60, deadline=None)
def test_the_median_is_the_first_day_on_which_the_product_is_one_half_or_less(rows):
    day, died = (np.array(column) for column in zip(*rows, strict=True))
    left, first = 1.0, None
    for t in np.unique(day):
        left *= 1 - ((day == t) & ~died).sum() / (day >= t).sum()
        if first is None and left <= 0.5 + 1e-12:
            first = t
    assert follow_up(day, died).value == first


def test_a_curve_that_lies_on_one_half_has_reached_it():
    found = follow_up([1, 2, 3, 4], [False] * 4)
    assert found.value == 2


@given(FOLLOWED)
@settings(max_examples=40, deadline=None)
def test_tallied_and_shuffled_rows_change_nothing(rows):
    day, died = (np.array(column) for column in zip(*rows, strict=True))
    tally = [(*row, rows.count(row)) for row in sorted(set(rows), reverse=True)]
    assert follow_up(*zip(*tally, strict=True)) == follow_up(day, died)


def test_a_higher_level_is_wider():
    day = np.random.default_rng(2).integers(20, 200, 60)
    found = [follow_up(day, np.arange(60) % 7 == 0, level=level) for level in (0.8, 0.95, 0.99)]
    assert all(b.low <= a.low <= a.value <= a.high <= b.high for a, b in pairwise(found))


def test_follow_up_of_cases_that_leave_together_is_that_of_their_animals():
    # Each of 40 animals has two cases of one fate, a design effect of 2 but for the 40 / 39 of the sample variance.
    day = np.random.default_rng(1).integers(20, 200, 40)
    dead = np.arange(40) % 5 == 0
    animals, twice = follow_up(day, dead), follow_up(np.tile(day, 2), np.tile(dead, 2), animal=[*range(40)] * 2)
    assert (twice.value, twice.denominator, twice.animals) == (animals.value, 80, 40)
    assert twice.low <= animals.low < animals.high <= twice.high
    known = (~dead | (day >= animals.value)).sum()  # whoever died before the median day might have been followed on
    assert (animals.notes, twice.notes) == ((), (f"design effect {2 * known / (known - 1):.2f}",))
    careless = follow_up(np.tile(day, 2), np.tile(dead, 2))
    assert twice.high - twice.low > careless.high - careless.low
    assert follow_up(day, dead, animal=range(40)) == animals


def test_follow_up_is_the_median_of_the_reversed_curve():
    # By hand: of 1, 2, 3*, 4, 5 (* event) the censorings leave 4/5, 3/5, (3/5)(1/2): half are left on day 4.
    found = follow_up([1, 2, 3, 4, 5], [False, False, True, False, False])
    assert (found.value, found.quantity) == (4, "median follow-up in days")
    assert follow_up([1, 2], [True, True]).value is None


@pytest.mark.parametrize(
    ("day", "event", "fault"),
    [
        ([1, -1], [1, 0], "row 1: day -1 is not 0 or above"),
        ([1, np.nan], [1, 0], "row 1: no day"),
        ([1, 2], [1, np.nan], "row 1: no event"),
        ([1, 2], [1], "differ in length"),
    ],
)
def test_faulty_days_are_named(day, event, fault):
    with pytest.raises(AuditError, match=fault):
        follow_up(day, event)


def test_nothing_to_count_is_refused():
    with pytest.raises(EmptyGroup):
        follow_up([], [])


def test_limits_are_read_off_the_log_log_limits_of_the_curve_by_hand():
    # Ten leave on days 1 to 10: S = 1 - t / 10, with Greenwood's error sqrt(S (1 - S) / 10) and, at a level of 0.9,
    # limits S^exp(+-1.645 e), where e = error / (S log S).
    day = np.arange(1, 11)
    left = 1 - np.arange(1, 10) / 10
    power = np.exp(1.644854 * np.sqrt(left * (1 - left) / 10) / np.abs(left * np.log(left)))
    below, above = left**power, left ** (1 / power)
    found = follow_up(day, [False] * 10, level=0.9, unit="grafts")
    assert found.value == 5
    assert (found.low, found.high) == (day[:9][below <= 0.5][0], day[:9][above <= 0.5][0])
    assert (found.numerator, found.denominator, found.animals, found.unit) == (10, 10, None, "grafts")


def test_days_that_are_never_reached_are_named():
    found = follow_up([5, 9], [True, True])
    assert found.notes == tuple(f"{name} not reached by day 9" for name in ("value", "lower limit", "upper limit"))


def test_part_of_a_case_is_no_weight():
    with pytest.raises(AuditError, match="no whole number of cases"):
        follow_up([5, 9], [True, False], [1, 0.5])
    assert follow_up([5, 9, 30], [False, False, False], [1, 1, 0]).denominator == 2
