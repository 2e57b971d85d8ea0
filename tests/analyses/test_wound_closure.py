"""The edge of an open wound, by hand: the change of area over the mean perimeter, a day."""

from math import pi

import pytest

from audit.analyses.wound_closure import wound_closure
from tests.planted import tallied


def test_each_wound_from_its_first_open_area_to_the_first_that_was_closed():
    wound = {"species": "dog", "method_group": "mesh_graft"}
    rows = [
        # 20 and 10 cm around: 12 cm2 less in 8 days over 15 cm is 1 mm a day.
        wound
        | {"days": [2, 10], "areas_cm2": [16.0, 4.0], "perimeters_cm": [20.0, 10.0], "weight": 2, "case_codes": ["a"]},
        # Seen closed, open, and closed on day 14, where it ends. A circle of 4 pi cm2 is 4 pi around.
        wound | {"days": [1, 4, 14, 20], "areas_cm2": [0.0, 4 * pi, 0.0, 3.0], "perimeters_cm": [0.0] * 4},
        wound | {"days": [3], "areas_cm2": [5.0], "perimeters_cm": [9.0]},
        wound | {"days": [3, 9], "areas_cm2": [0.0, 0.0], "perimeters_cm": [0.0, 0.0]},
        wound | {"days": [3, 9], "areas_cm2": [4.0, 6.0], "perimeters_cm": [8.0, 12.0], "method_group": "flap"},
        wound | {"days": [0, 5], "areas_cm2": [9.0, 0.0], "perimeters_cm": [12.0, 0.0], "species": "cat"},
    ]  # fmt: skip
    with tallied(open_area_tally=rows) as cases:
        answer = wound_closure(cases)
    shown = answer.cases.sort_values(["species", "method_group", "first_day", "case_code"])
    columns = [
        "species",
        "method_group",
        "first_day",
        "last_day",
        "first_area",
        "last_area",
        "reduction_pct",
        "by_circle",
    ]
    assert shown[columns].values.tolist() == [
        ["cat", "mesh_graft", 0, 5, 9, 0, 100, False], ["dog", "flap", 3, 9, 4, 6, -50, False],
        ["dog", "mesh_graft", 2, 10, 16, 4, 75, False], ["dog", "mesh_graft", 2, 10, 16, 4, 75, False],
        ["dog", "mesh_graft", 4, 14, pytest.approx(4 * pi), 0, 100, True],
    ]  # fmt: skip
    # Cat: 9 cm2 over 6 cm in 5 days; flap: 2 cm2 more over 10 cm in 6; circle: its radius of 2 cm in 10 days.
    assert shown["advance_mm"].tolist() == pytest.approx([3, -1 / 3, 1, 1, 2])
    assert [(s, g, e.value, e.denominator) for s, g, e in answer.advance] == [
        ("dog", "flap", pytest.approx(-1 / 3), 1), ("dog", "mesh_graft", pytest.approx(1), 3),
        ("cat", "mesh_graft", 3, 1),
    ]  # fmt: skip
    assert len(answer.examinations) == 2 * 2 + 4 + 1 + 2 + 2 + 2
    assert answer.examinations["case"].nunique() == 7
