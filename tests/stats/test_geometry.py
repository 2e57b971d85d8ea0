import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published import published
from scipy.special import ellipe

from audit.errors import AuditError
from audit.stats.geometry import linear_advance, percent_reduction, shortest_perimeter

AXIS = st.floats(0.2, 60)


# Gilman TH. Wounds 1990;2:95-101: for a circle the advance is the change of the radius, exactly.
def test_advance_of_a_circle_is_its_change_of_radius():
    case = published("geometry", "geom-gilman-circle")
    r1, r2, days = (case.data[name] for name in ("r1", "r2", "days"))
    areas, perimeters = np.pi * np.array([r1, r2]) ** 2, 2 * np.pi * np.array([r1, r2])
    assert linear_advance(*areas, *perimeters, days=1) == case["d"]
    assert linear_advance(*areas, *perimeters, days=days) == case["rate_per_day"]
    assert percent_reduction(*areas) == case["percent_area_reduction"]


# Perimeters of ellipses by numerical integration in R.
def test_advance_between_two_ellipses():
    case = published("geometry", "geom-ellipse-perimeter")
    axes = np.array(case.data["semi_axes"])[:2]
    assert linear_advance(*np.pi * axes.prod(axis=1), *case.value("exact")[:2], days=1) == case["d"]


@given(AXIS, AXIS)
def test_no_ellipse_is_shorter_than_its_circle(length, width):
    longer, shorter = max(length, width), min(length, width)
    around = 2 * longer * ellipe(1 - (shorter / longer) ** 2)
    assert around >= shortest_perimeter(np.pi / 4 * length * width) * (1 - 1e-12)


def test_impossible_records_are_refused():
    for wrong in (lambda: percent_reduction(0, 1), lambda: shortest_perimeter(-1)):
        with pytest.raises(AuditError):
            wrong()
    with pytest.raises(AuditError, match="0 days"):
        linear_advance(2, 1, 3, 2, 0)


def test_what_is_just_possible_is_answered_and_what_is_not_is_refused():
    assert (shortest_perimeter(0), percent_reduction(4, 0), linear_advance(0, 0, 1, 0, 1)) == (0, 100, 0)
    wrong = [(percent_reduction, (-1, 1)), (percent_reduction, (1, -1)), (shortest_perimeter, (float("nan"),))]
    wrong += [(linear_advance, areas) for areas in ((-1, 1, 3, 2, 7), (1, -1, 3, 2, 7), (2, 1, 0, 0, 7))]
    for call, arguments in wrong:
        with pytest.raises(AuditError):
            call(*arguments)
    # A circle of radius 3 that grows to radius 4 in two days.
    areas, perimeters = np.pi * np.array([9, 16]), 2 * np.pi * np.array([3, 4])
    assert linear_advance(*areas, *perimeters, days=2) == pytest.approx(-0.5)
    assert percent_reduction(9, 16) == pytest.approx(-700 / 9)
