"""Waits between changes of bandage against the schedule 2, 4 and 7 days of the phases to days 7, 14 and 21, by hand."""

import pytest

from audit.analyses.bandages import bandages
from audit.analyses.own_values import Answers, own_values
from tests.planted import tallied

DOG = {"species": "dog", "method_group": "mesh_graft", "status": "eligible"}
ROWS = [
    # Healed on day 18: waits 2, 3, 4 from surgery to day 9; 7 from day 9 to 16; then 2 until it was healed.
    DOG | {"followed_to": 20, "healed_day": 18, "change_days": [2, 5, 9, 16], "changes": 4, "changes_by_7": 2,
           "first_change_day": 2, "weight": 2, "case_codes": ["a", "b"]},
    # Watched to the day of its last change: waits 4 and 2.
    DOG | {"followed_to": 6, "change_days": [4, 6], "changes": 2, "changes_by_7": 2, "first_change_day": 4,
           "case_codes": ["c"]},
    # Watched for two days without a change: just as long as planned.
    DOG | {"followed_to": 2, "change_days": [], "changes": 0, "changes_by_7": 0, "case_codes": ["d"]},
    # A change after the end of watching is none; on day 7 it was watched still.
    DOG | {"followed_to": 7, "change_days": [1, 8], "changes": 2, "changes_by_7": 1, "first_change_day": 1,
           "case_codes": ["e"]},
    DOG | {"followed_to": 0, "change_days": [], "changes": 0, "changes_by_7": 0, "case_codes": ["f"]},
    DOG | {"followed_to": 1, "change_days": [], "changes": 0, "changes_by_7": 0, "case_codes": ["g"]},
    DOG | {"status": "excluded", "reason": "bandage changes not recorded", "change_days": [], "case_codes": ["h"]},
]  # fmt: skip


@pytest.fixture(scope="module")
def answer():
    with tallied(bandage_tally=ROWS) as cases:
        return bandages(cases)


def test_the_longest_wait_of_each_case_against_the_plan_of_its_phase(answer):
    assert answer.planned == ((0, 7, 2), (8, 14, 4), (15, 21, 7))
    early, middle, late = answer.waits
    assert (early.cases, early.late, early.longest) == (("a", "b", "c", "d", "e", "g"), ("a", "b", "c", "e"), 6.0)
    assert (middle.cases, middle.late, middle.longest) == (("a", "b"), ("a", "b"), 7.0)
    assert (late.cases, late.late, late.longest) == (("a", "b"), (), 2.0)


def test_changes_are_counted_while_a_case_was_watched(answer):
    ((species, mean),) = answer.mean
    assert (species, mean.animals) == ("dog", 6)
    assert dict(zip(mean.day.tolist(), mean.events.tolist(), strict=True)) == {
        1: 1,
        2: 2,
        4: 1,
        5: 2,
        6: 1,
        9: 2,
        16: 2,
    }
    ((_, rates),) = answer.rates
    # Days watched, that of surgery among them: 8 + 8 + 7 + 3 + 8 + 2, then 7 + 7, then 6 + 6.
    assert [(rate.numerator, rate.denominator) for rate in rates] == [(7, 36), (2, 14), (2, 12)]
    assert [(reason, tuple(cases)) for reason, cases in answer.not_watched] == [
        ("bandage changes not recorded", ("h",)), ("not seen after surgery", ("f",)),
    ]  # fmt: skip
    assert answer.cases["is_healed"].sum() == 2


def test_a_phase_that_no_case_reached_has_no_wait():
    with tallied(bandage_tally=ROWS[1:]) as cases:
        _, _, late = bandages(cases).waits
    assert (len(late.cases), len(late.late), late.longest) == (0, 0, None)


@pytest.mark.parametrize(
    ("quantity", "median", "known", "unknown"),
    [
        # Watched for the first seven days and changed in them: 7/2, 7/2 and 7/1 days.
        ("bandage_gap_early", 3.5, ("a", "b", "e"), ("c", "d", "g")),
        ("first_change", 2.0, ("a", "b", "c", "e"), ("d", "g")),
        ("bandage_changes", 4.0, ("a", "b"), ("c", "d", "e", "g")),
    ],
)
def test_our_figures_of_bandages(answer, quantity, median, known, unknown):
    (own,) = own_values(quantity, 7, Answers(None, None, None, None, answer))
    assert (own.estimate.value, own.estimate.unit, own.cases, own.unknown) == (
        median,
        "reconstructions",
        known,
        unknown,
    )
