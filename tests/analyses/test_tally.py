"""Rows of a tally as members, animals and single cases, by hand."""

import numpy as np
import pandas as pd
import pytest

from audit.analyses import tally

ROWS = pd.DataFrame(
    {
        "grade": [1.0, 1.0, 2.0, np.nan, 2.0],
        "reason": ["late", None, "early", "late", "late"],
        "is_yes": [True, False, True, True, False],
        "animal": pd.array([None, 8, 8, 3, 3], dtype="Int64"),
        "weight": pd.array([3, 1, 2, 1, 1], dtype="Int64"),
        "case_codes": [["c", "a"], ["b"], [], ["e"], ["d"]],
    },
    index=[9, 4, 7, 2, 0],
)


def test_cases_and_animals_of_rows():
    assert (tally.cases(ROWS), tally.animals(ROWS)) == (8, 5)
    assert tally.members(ROWS).codes == ("a", "b", "c", "d", "e")
    assert len(tally.members(ROWS)) == 8
    assert tally.reasons(ROWS) == (("late", 5), ("early", 2))


def test_cases_of_an_animal_count_together_whatever_the_index():
    yes, of, number = tally.by_animal(ROWS, "is_yes")
    # Three animals of one case with it; one of three cases, two with it; one of two cases, one with it.
    assert list(zip(yes, of, number, strict=True)) == [(1, 1, 3), (1, 2, 1), (2, 3, 1)]


def test_single_cases_with_the_codes_at_hand_in_an_order_of_their_own():
    each = tally.individuals(ROWS)
    assert each["grade"].tolist() == pytest.approx([1, 1, 1, 1, 2, 2, np.nan, 2], nan_ok=True)
    assert each["case_code"].tolist() == ["c", "a", None, "b", None, None, "e", "d"]
    # Alike animals of one case each, then the two of several, by their rows.
    assert each["animal"].tolist() == [0, 1, 2, 3, 3, 3, 4, 4]
    assert tally.of_individuals(each).codes == ("a", "b", "c", "d", "e")
    assert len(tally.of_individuals(each)) == 8


def test_other_numbers_of_the_same_animals_change_nothing():
    rows = ROWS.assign(case_codes=[[]] * 5)
    other = rows.assign(animal=rows["animal"].replace({8: 1}))
    pd.testing.assert_frame_equal(tally.individuals(rows), tally.individuals(other))
    kinds = np.array([0, 0, 0, 1, 2, 3])
    for names in ([5, 7, 6, 7, 5, 6], [7, 5, 6, 5, 7, 6], [1, 3, 2, 3, 1, 2]):
        order, animal = tally.in_order(kinds, np.array(names))
        assert kinds[order].tolist() == [0, 0, 0, 1, 2, 3]
        assert animal.tolist() == [0, 1, 2, 0, 1, 2]
