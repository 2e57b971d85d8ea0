"""Grades months later by species and method, from planted tallies."""

import pytest
from scipy.stats import kruskal

from audit.analyses.owners import owner_marks
from audit.analyses.scores import GRADES, scores
from tests.planted import protocol_with, tallied


def scored(group, value, weight=1, *, item="hair", species="dog", **more):
    row = {"item": item, "species": species, "method_group": group, "value": value, "status": "scored"}
    return row | {"weight": weight} | more


def unscored(group, reason, weight=1, status="not_scored", **more):
    return scored(group, None, weight, **more) | {"status": status, "reason": reason}


def asked(rows, **terms):
    with tallied(protocol_with("hair", **terms), score_tally=rows) as cases:
        return scores(cases)


HAIR = [
    scored("mesh_graft", 3, 4), scored("mesh_graft", 2, 2, case_codes=["a", "b"]),
    scored("mesh_graft", 2, case_codes=["c"]), scored("flap", 4, 3), scored("flap", 1, 2),
    scored("sheet_graft", 0, 2), unscored("flap", "clipped", 2), unscored("flap", "no rating", 3),
    unscored("flap", "does not apply", 7, "excluded"),
]  # fmt: skip


def test_counts_medians_and_reasons_of_an_item():
    (hair,) = asked([*HAIR, unscored("mesh_graft", "no rating", 5, item="look_edge")]).items
    assert (hair.item, hair.species, hair.grades, hair.scored, hair.asked) == ("hair", "dog", GRADES["hair"], 14, 19)
    assert hair.reasons == (("no rating", 3), ("clipped", 2))
    assert hair.counts.values.tolist() == [
        ["flap", 1, 2, ()], ["flap", 4, 3, ()], ["mesh_graft", 2, 3, ("a", "b", "c")], ["mesh_graft", 3, 4, ()],
        ["sheet_graft", 0, 2, ()],
    ]  # fmt: skip
    assert hair.medians == (("flap", 4.0, 5), ("mesh_graft", 3.0, 7), ("sheet_graft", 0.0, 2))
    # Sheet grafts have two animals, too few to be compared. Of 35 pairs of a flap and a mesh, 3 x 7 go to flaps.
    ((first, second, pair),) = hair.pairs
    assert (first, second, pair.value) == ("flap", "mesh_graft", pytest.approx(21 / 35))
    assert hair.all_alike.statistic == pytest.approx(kruskal([4, 4, 4, 1, 1], [3] * 4 + [2] * 3).statistic)
    assert hair.apart == ()


def test_three_groups_are_told_apart_unless_an_animal_has_two_cases():
    three = [*HAIR, scored("sheet_graft", 1)]
    (hair,) = asked(three).items
    assert [(a, b) for a, b, _ in hair.apart] == [
        ("flap", "mesh_graft"), ("flap", "sheet_graft"), ("mesh_graft", "sheet_graft"),
    ]  # fmt: skip
    assert len(hair.pairs) == 3
    (clustered,) = asked([*three, scored("flap", 2, animal=1), scored("flap", 3, animal=1)]).items
    assert (clustered.apart, clustered.all_alike is None) == ((), False)
    (crossed,) = asked([*three, scored("flap", 2, animal=1), scored("mesh_graft", 3, animal=1)]).items
    assert (crossed.apart, crossed.all_alike) == ((), None)


def test_good_hair_is_of_the_grade_or_better():
    rows = [*HAIR, scored("flap", 3, 2, species="cat")]
    shares = [
        (g.species, g.group, len(g.cases.sure_yes), g.cases.known, len(g.cases.cannot_tell))
        for g in asked(rows).good_hair
    ]
    assert shares == [
        ("dog", "all", 7, 14, 5), ("dog", "flap", 3, 5, 5), ("dog", "mesh_graft", 4, 7, 0),
        ("dog", "sheet_graft", 0, 2, 0), ("cat", "all", 2, 2, 0), ("cat", "flap", 2, 2, 0),
    ]  # fmt: skip
    best = asked(rows, good_grade=4)
    assert (best.good_grade, best.good_hair[0].cases.question) == (4, "hair grade 4")
    assert asked(rows).good_hair[0].cases.question == "hair grade 3 or better"
    assert [len(g.cases.sure_yes) for g in best.good_hair] == [3, 3, 0, 0, 0, 0]


def test_items_come_in_order_and_blinding_is_of_asked_ratings():
    rating = {"animal": 1, "photograph": 1, "rater": 1, "is_rater_known": True, "value": 1, "item": "hair"}
    ratings = [
        rating | {"blinded_to_method": blind, "case_status": status, "item": item}
        for blind, status, item in [
            (True, "eligible", "hair"), (True, "eligible", "look_edge"), (False, "eligible", "hair"),
            (None, "eligible", "hair"), (True, "excluded", "hair"), (True, "eligible", "viable_pct"),
        ]
    ]  # fmt: skip
    rows = [scored("flap", 1, item="look_edge"), scored("flap", 1, species="cat"), scored("flap", 1)]
    with tallied(score_tally=rows, rating_tally=ratings) as cases:
        answer = scores(cases)
    assert [(item.item, item.species) for item in answer.items] == [
        ("hair", "dog"),
        ("hair", "cat"),
        ("look_edge", "dog"),
    ]
    assert (answer.blinded, answer.blinding_unknown, answer.from_day) == ((2, 3), 1, 90)


def test_marks_of_owners_by_method():
    mark = {"item": "look_owner"}
    rows = [
        *(scored("flap", value, **mark, case_codes=[f"f{value}"]) for value in (9, 7, 8, 6)),
        scored("flap", 10, **mark),
        scored("mesh_graft", 4, 2, **mark), scored("mesh_graft", 5, 3, **mark), scored("piece_graft", 1, 4, **mark),
        unscored("flap", "no rating", 2, **mark), unscored("flap", "excluded", 3, "excluded", **mark),
        scored("flap", 3),
    ]  # fmt: skip
    with tallied(score_tally=rows) as cases:
        (dogs,) = owner_marks(cases.rows("score_tally"), level=0.95)
    assert (dogs.species, dogs.asked, dogs.reasons) == ("dog", 16, (("no rating", 2),))
    everyone, flap, mesh, piece = dogs.groups
    assert [(g.group, len(g.marks)) for g in dogs.groups] == [
        ("all", 14), ("flap", 5), ("mesh_graft", 5), ("piece_graft", 4),
    ]  # fmt: skip
    assert (flap.marks, flap.cases) == ((6, 7, 8, 9, 10), ("f6", "f7", "f8", "f9", None))
    assert (flap.median.value, mesh.median.value, piece.median.value, everyone.median.value) == (8, 5, 1, 5)
    # Differences of 6..10 and 4, 4, 5, 5, 5: their median is 3.
    ((first, second, shift),) = dogs.shifts
    assert (first, second, shift.value) == ("flap", "mesh_graft", 3)
