"""Sentences are compared whole: a number may be right and its words still mislead."""

from dataclasses import replace
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audit.results import Estimate, ThreeWay
from audit.stats.proportions import clustered_share
from reports import wording

TOOK = Estimate(
    quantity="take",
    value=13 / 16,
    value_to=13 / 16,
    low=0.57,
    high=0.934,
    level=0.95,
    method="Wilson",
    unit="animals",
    numerator=13,
    denominator=16,
    animals=16,
)
MEDIAN = Estimate(
    quantity="median day healed",
    value=26,
    value_to=26,
    low=21,
    high=35,
    level=0.95,
    method="NPMLE",
    unit="animals",
    denominator=20,
)


def test_share_carries_its_count_and_interval():
    assert wording.share(TOOK) == "13 of 16 (81 %, 95 % interval 57 to 93 %)"


def test_share_reads_what_statistics_give():
    # Newcombe RG. Stat Med 1998;17:857-872, Table I: 0 of 20, Wilson, 0 to 0.1611.
    assert wording.share(clustered_share([0], [1], weight=[20]).estimate) == "0 of 20 (0 %, 95 % interval 0 to 16 %)"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"numerator": 4, "denominator": 9, "value": 4 / 9, "value_to": 4 / 9}, "4 of 9"),
        ({"numerator": 4, "denominator": 9, "unknown": 2}, "4 of 9; 2 cannot be told"),
        ({"numerator": 0, "denominator": 0, "value": None, "value_to": None}, "no cases to count"),
        (
            {"numerator": 12, "denominator": 16, "value": 0.75, "unknown": 1},
            "12 of 16 (75 to 81 %, 95 % interval 57 to 93 %); 1 cannot be told",
        ),
        ({"numerator": None, "denominator": 24}, "81 % of 24 (95 % interval 57 to 93 %)"),
        (
            {"numerator": 9, "unknown": 4, "value": 0.7, "value_to": 0.75},
            "70 to 75 % of 16 (95 % interval 57 to 93 %; 9 for sure; 4 cannot be told)",
        ),
        ({"low": None, "high": None}, "13 of 16 (81 %, no 95 % interval)"),
        ({"level": 0.9}, "13 of 16 (81 %, 90 % interval 57 to 93 %)"),
    ],
)
def test_share_by_what_the_records_leave(changes, words):
    assert wording.share(replace(TOOK, **changes)) == words


def test_smallest_number_for_a_percentage_is_the_protocols():
    assert wording.share(TOOK, smallest=20) == "13 of 16"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "day 26 (95 % interval day 21 to 35)"),
        ({"value": 21}, "between day 21 and day 26 (95 % interval day 21 to 35)"),
        ({"value_to": None, "high": None}, "day 26 or later (95 % interval day 21 or later)"),
        ({"value_to": inf, "high": inf}, "day 26 or later (95 % interval day 21 or later)"),
        ({"value": None, "value_to": None, "high": None}, "not reached (95 % interval day 21 or later)"),
        ({"value": None, "value_to": None, "low": None, "high": None}, "not reached (no 95 % interval)"),
        ({"value": 26.5, "value_to": 26.5, "low": nan}, "day 26.5 (95 % interval up to day 35)"),
    ],
)
def test_time_by_what_visits_bound(changes, words):
    assert wording.time(replace(MEDIAN, **changes)) == words


def test_points_and_amounts_with_missing_parts():
    gap = Estimate(
        quantity="difference",
        value=-0.12,
        value_to=-0.12,
        low=-0.27,
        high=0.04,
        level=0.95,
        method="square-and-add",
        unit="animals",
    )
    assert wording.points(gap) == "−12 percentage points (95 % interval −27 to 4)"
    assert wording.points(replace(gap, value=-0.2, low=None, high=None)) == (
        "−20 to −12 percentage points (no 95 % interval)"
    )
    assert wording.amount(replace(gap, value=None)) == "no estimate"


def test_bounds_of_nothing_asked():
    assert wording.bounds(ThreeWay("took", (), (), (), (("a", "a flap"),))) == "no cases to count"
    assert wording.bounds(ThreeWay("took", ("a",), (), ("b",))) == "between 1 and 2 of 2, as 1 cannot be told"


@pytest.mark.parametrize("p", [-0.1, 1.1, nan])
def test_no_p_value(p):
    with pytest.raises(ValueError, match="no p-value"):
        wording.p_value(p)


@pytest.mark.parametrize(
    ("value", "places", "words"),
    # Halves that binary fractions would round the wrong way.
    [
        (12.5, 0, "13"),
        (0.145 * 100, 0, "15"),
        (2.675, 2, "2.68"),
        (-2.5, 0, "−3"),
        (0.04, 1, "0.0"),
        (1e6, 0, "1,000,000"),
    ],
)
def test_halves_round_away_from_zero(value, places, words):
    assert wording.number(value, places) == words


@given(st.integers(0, 5000), st.integers(1, 5000))
def test_only_none_reads_none_and_only_all_reads_all(part, rest):
    whole = part + rest
    assert (wording.percent(part / whole) == "0 %") == (part == 0)
    assert wording.percent(part / whole) != "100 %"
