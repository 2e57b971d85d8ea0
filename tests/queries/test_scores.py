"""The grade that raters agree on, and why there is none."""

import pytest

from audit.analyses.scores import scores
from audit.protocol import read_protocol
from reports.sections.scores import good_hair_table
from tests.planted import ANIMAL, CASE, found, plant, plant_case, protocol_with

ITEMS = 10


def rate(store, value, rater=0, **values):
    plant(store, "scores", value=value, rater_code=None if rater is None else str(rater) * 12, **values)


def hair(store, *columns):
    return [row[1:] for row in found(store, "score", "item", *columns) if row[0] == "hair"]


def test_one_row_an_item_whether_rated_or_not(store):
    plant_case(store)
    rate(store, 3, blinded_to_method=True)

    rows = found(store, "score")
    assert len(rows) == ITEMS
    assert rows[0] == (
        CASE,
        ANIMAL,
        "dog",
        "mesh_full",
        "mesh_graft",
        "distal_limb",
        "hair",
        3,
        1,
        100,
        True,
        "scored",
        None,
    )
    assert {(row[7], row[8], *row[-2:]) for row in rows[1:]} == {(None, 0, "not_scored", "no rating")}


@pytest.mark.parametrize(
    ("grades", "agreed"), [([1], 1), ([1, 4], 1), ([4, 1, 2], 2), ([1, 2, 3, 4], 2), ([0, 0, 4], 0)]
)  # fmt: skip
def test_several_raters_agree_on_the_lower_middle_grade(store, grades, agreed):
    plant_case(store)
    for rater, grade in enumerate(grades):
        rate(store, grade, rater)

    assert hair(store, "value", "raters") == [(agreed, len(grades))]


def test_each_rater_counts_once_with_the_latest_reading_that_is_no_repeat(store):
    plant_case(store)
    rate(store, 1, 1, photo_day=95, blinded_to_method=True)
    rate(store, 4, 1, photo_day=120, blinded_to_method=True)
    rate(store, 0, 1, photo_day=130, is_repeat=True)
    rate(store, 3, 2, photo_day=100, blinded_to_method=None)
    rate(store, 4, 3, photo_day=100, blinded_to_method=True)

    assert hair(store, "value", "raters", "day", "blinded") == [(4, 3, 120, False)]
    assert len(found(store, "rating")) == 5


WHY_NOT = [
    ({"photo_day": 89}, "not_scored", "before day 90"),
    ({"photo_day": 366}, "not_scored", "after day 365"),
    ({"clipped": "clipped"}, "not_scored", "clipped"),
    ({"rater_role": "owner"}, "not_scored", "rated by the owner only"),
    ({"value": None}, "not_scored", "no value"),
    ({"value": None, "absent": ["value=not_applicable"]}, "excluded", "does not apply"),
    ({"is_repeat": True}, "not_scored", "no rating"),
    ({"photo_day": 90}, "scored", None),
    ({"photo_day": 365, "clipped": None}, "scored", None),
]


@pytest.mark.parametrize(("row", "status", "reason"), WHY_NOT)
def test_why_hair_has_no_grade(store, row, status, reason):
    plant_case(store)
    rate(store, **({"value": 2} | row))

    assert hair(store, "value", "status", "reason") == [(2 if status == "scored" else None, status, reason)]


def test_the_latest_rating_tells_why_there_is_no_grade(store):
    plant_case(store)
    rate(store, 2, photo_day=60)
    rate(store, 2, photo_day=100, clipped="clipped")

    assert hair(store, "status", "reason") == [("not_scored", "clipped")]
    assert set(found(store, "score", "reason")) == {("clipped",), ("no rating",)}
    assert len(found(store, "score")) == ITEMS


def test_of_two_reasons_of_one_day_the_same_is_always_told(store):
    plant_case(store)
    rate(store, 2, 1, rater_role="owner")
    rate(store, 2, 2, clipped="clipped")

    assert hair(store, "status", "reason") == [("not_scored", "clipped")]


def test_hair_of_the_good_grade_or_better_by_species_and_method(store):
    """By hand: dogs 2 of 3 graded and one not, of meshes 1 of 2 and of flaps 1 of 1; the one cat not, at grade 2."""
    for name, species, method, grade in (
        ("a", "dog", "mesh_full", 3), ("b", "dog", "mesh_full", 2), ("c", "dog", "flap_axial", 4),
        ("d", "dog", "flap_axial", None), ("e", "cat", "mesh_full", 2), ("f", "dog", "not_done", 4),
    ):  # fmt: skip
        plant_case(store, name * 12, species=species, done_method=method)
        if grade is not None:
            plant(store, "scores", animal=name * 12, value=grade)

    answer = scores(store.under(read_protocol()))
    assert answer.good_grade == 3
    shares = [
        (group.species, group.group, *map(len, (group.cases.sure_yes, group.cases.sure_no, group.cases.cannot_tell)))
        for group in answer.good_hair
    ]
    assert shares == [
        ("dog", "all", 2, 1, 1), ("dog", "flap", 1, 0, 1), ("dog", "mesh_graft", 1, 1, 0),
        ("cat", "all", 0, 1, 0), ("cat", "mesh_graft", 0, 1, 0),
    ]  # fmt: skip
    table = good_hair_table(answer, 10)
    assert table.title == "Cases with hair grade 3 or better"
    assert [row[:5] for row in table.rows][:2] == [("Dogs", "4", "2", "1", "1"), ("Dogs: flaps", "2", "1", "0", "1")]

    best = scores(store.under(protocol_with("hair", good_grade=4)))
    assert [len(group.cases.sure_yes) for group in best.good_hair] == [1, 1, 0, 0, 0]
    assert best.good_hair[0].cases.question == "hair grade 4"


def test_clipping_spoils_hair_only_and_measures_have_no_window(store):
    plant_case(store)
    rate(store, 2, item="look_edge", clipped="clipped")
    rate(store, 8, item="look_owner", rater_role="owner")
    rate(store, 80, item="viable_pct", photo_day=10)

    rows = found(store, "score", "item", "value", "status")
    assert [row for row in rows if row[2] == "scored"] == [
        ("look_edge", 2, "scored"),
        ("look_owner", 8, "scored"),
        ("viable_pct", 80, "scored"),
    ]


@pytest.mark.parametrize("case", [{"region": "pad_digital"}, {"done_method": "pad_segmental"}])
def test_hair_is_not_expected_on_pads(store, case):
    plant_case(store, **case)
    rate(store, 2)

    assert hair(store, "value", "raters", "status", "reason") == [(None, 0, "excluded", "does not apply")]


def test_excluded_cases_have_no_score_to_give(store):
    plant_case(store, surgery_month="1999-12")

    assert found(store, "score", "status", "reason") == [("excluded", "outside the period")] * ITEMS
