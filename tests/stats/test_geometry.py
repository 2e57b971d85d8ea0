import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published import published

from audit.errors import AuditError
from audit.stats.geometry import (
    ellipse_area,
    ellipse_perimeter,
    linear_advance,
    percent_reduction,
    polygon_area,
    polygon_perimeter,
    ramanujan_perimeter,
    shortest_perimeter,
)

AXIS = st.floats(0.2, 60)


# Elementary geometry; perimeters by numerical integration in R.
def test_ellipses_match_closed_forms():
    area = published("geometry", "geom-ellipse")
    assert list(ellipse_area(area.data["L"], area.data["W"])) == area["area"]
    around = published("geometry", "geom-ellipse-perimeter")
    length, width = 2 * np.array(around.data["semi_axes"]).T
    assert list(ellipse_perimeter(length, width)) == around["exact"]
    assert list(ramanujan_perimeter(length, width)) == around["ramanujan2"]
    first, last = ellipse_area(length, width)[:2]
    assert linear_advance(first, last, *ellipse_perimeter(length, width)[:2], days=1) == around["d"]


# Elementary geometry, worked by hand.
def test_outlines_match_shoelace_by_hand():
    case = published("geometry", "geom-shoelace")
    assert [polygon_area(outline) for outline in case.data["polygons"]] == case["area"]
    assert [polygon_perimeter(outline) for outline in case.data["polygons"]] == case["perimeter"]
    take = published("geometry", "geom-percent-take")
    lost = sum(polygon_area(outline) for outline in take.data["lost"])
    assert 100 * (1 - lost / polygon_area(take.data["graft"])) == take["take_percent"]


@given(AXIS, AXIS, st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_an_outline_of_many_corners_nears_its_ellipse_wherever_it_lies(length, width, right, up):
    angle = np.linspace(0, 2 * np.pi, 2_000, endpoint=False)
    outline = np.column_stack([right + length / 2 * np.cos(angle), up + width / 2 * np.sin(angle)])
    assert polygon_area(outline) == pytest.approx(float(ellipse_area(length, width)), rel=1e-5)
    assert polygon_perimeter(outline) == pytest.approx(float(ellipse_perimeter(length, width)), rel=1e-4)
    assert polygon_area(outline[::-1]) == pytest.approx(polygon_area(outline))


def test_two_corners_enclose_nothing():
    with pytest.raises(AuditError, match="three corners"):
        polygon_area([(0, 0), (1, 1)])


# Gilman TH. Wounds 1990;2:95-101: for a circle the advance is the change of the radius, exactly.
def test_advance_of_a_circle_is_its_change_of_radius():
    case = published("geometry", "geom-gilman-circle")
    r1, r2, days = (case.data[name] for name in ("r1", "r2", "days"))
    areas, perimeters = np.pi * np.array([r1, r2]) ** 2, 2 * np.pi * np.array([r1, r2])
    assert linear_advance(*areas, *perimeters, days=1) == case["d"]
    assert linear_advance(*areas, *perimeters, days=days) == case["rate_per_day"]
    assert percent_reduction(*areas) == case["percent_area_reduction"]


@given(AXIS, AXIS, st.floats(0.1, 10))
def test_perimeter_scales_and_is_never_shorter_than_the_circle(length, width, factor):
    around = ellipse_perimeter(length, width)
    assert around == pytest.approx(ellipse_perimeter(width, length))
    assert ellipse_perimeter(factor * length, factor * width) == pytest.approx(factor * around)
    assert around >= shortest_perimeter(float(ellipse_area(length, width))) * (1 - 1e-12)
    assert ramanujan_perimeter(length, width) == pytest.approx(around, rel=5e-4)


def test_a_line_and_a_point_and_impossible_records():
    assert list(ellipse_perimeter([5, 0], [0, 0])) == [10, 0]
    assert list(ramanujan_perimeter([0], [0])) == [0]
    for wrong in (lambda: ellipse_area(-1, 2), lambda: percent_reduction(0, 1), lambda: shortest_perimeter(-1)):
        with pytest.raises(AuditError):
            wrong()
    with pytest.raises(AuditError, match="0 days"):
        linear_advance(2, 1, 3, 2, 0)
