"""Agreement of raters from planted ratings, its counts and coefficients worked out by hand."""

import pytest

from audit.analyses.agreement import agreement, measured_agreement
from tests.planted import tallied


def rating(photograph, rater, value, **more):
    row = {"item": "hair", "animal": photograph, "photograph": photograph, "rater": rater, "is_rater_known": True}
    return row | {"is_repeat": False, "value": value, "case_status": "eligible"} | more


def answers(rows, ask=agreement):
    with tallied(rating_tally=rows) as cases:
        return ask(cases)


def test_pairs_of_first_readings_and_hidden_repeats():
    rows = [
        rating(1, 1, 3), rating(1, 2, 3), rating(1, 3, 2),  # one pair of three is the same
        rating(2, 1, 2), rating(2, 2, 2),
        rating(3, 1, 1), rating(3, 2, 0),
        rating(4, 1, 4), rating(4, 2, None),  # graded once
        rating(5, 1, 4), rating(5, 4, 4, is_rater_known=False),
        rating(1, 1, 3, is_repeat=True), rating(3, 1, 2, is_repeat=True), rating(5, 2, 1, is_repeat=True),
        rating(1, 1, 2, item="look_edge"), rating(1, 2, 2, item="look_edge"),
        rating(6, 1, 1, item="look_tone"),
    ]  # fmt: skip
    hair, edge = answers(rows)
    assert (hair.item, hair.photographs, hair.raters, hair.pairs, hair.exact) == ("hair", 3, 3, 5, 2)
    assert {(i, j): int(n) for i, row in enumerate(hair.table) for j, n in enumerate(row) if n} == {
        (3, 3): 1, (2, 2): 1, (1, 0): 1,
    }  # fmt: skip
    assert hair.repeats == (2, 1)
    assert (edge.item, edge.photographs, edge.exact, edge.repeats) == ("look_edge", 1, 1, (0, 0))


def sixteen(animals):
    """Both 0 in 6, both 1 in 6, 0 and 1 in 2, 1 and 0 in 2 photographs."""
    grades = [(0, 0)] * 6 + [(1, 1)] * 6 + [(0, 1)] * 2 + [(1, 0)] * 2
    return [
        rating(n, rater, value, animal=animals[n])
        for n, pair in enumerate(grades)
        for rater, value in enumerate(pair, start=1)
    ]


def test_two_raters_of_two_grades():
    # Observed 12 in 16, by chance a half: kappa 0.5. Alpha: disagreement 1/4 of 2 x 16 x 16 / (32 x 31).
    (hair,) = answers(sixteen(range(16)))
    assert hair.kappa.value == pytest.approx(0.5)
    assert hair.alpha.value == pytest.approx(1 - 0.25 * 32 * 31 / 512)
    assert hair.kappa.low < 0.5 < hair.kappa.high
    assert hair.alpha.low < hair.alpha.value < hair.alpha.high
    assert hair.refused == ""


def test_kappa_has_no_interval_where_an_animal_has_two_photographs_and_none_is_of_three_raters():
    (hair,) = answers(sixteen([0, *range(15)]))
    assert (hair.kappa.low, hair.kappa.high) == (None, None)
    assert hair.kappa.value == pytest.approx(0.5)
    (of_three,) = answers([*sixteen(range(16)), rating(0, 3, 0)])
    assert of_three.kappa is None
    assert of_three.alpha is not None


def test_under_fifteen_photographs_there_is_no_coefficient():
    (hair,) = answers([row for row in sixteen(range(16)) if row["photograph"] > 1])
    assert (hair.photographs, hair.alpha, hair.ac2, hair.kappa) == (14, None, None, None)
    assert "14 photographs" in hair.refused


def test_a_measure_is_of_the_two_raters_who_measured_most_together():
    rows = [rating(n, rater, 50 + n + rater, item="viable_pct") for n in range(16) for rater in (1, 3)]
    rows += [rating(n, 2, 90, item="viable_pct") for n in range(3)]
    viable, area = answers([*rows, *(rating(1, r, 5, item="open_area") for r in (1, 2))], measured_agreement)
    assert (viable.photographs, viable.limits.bias.value, viable.refused) == (16, -2.0, "")
    assert (area.item, area.photographs, area.limits, area.correlation) == ("open_area", 1, None, None)
    assert area.refused
