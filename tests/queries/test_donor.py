"""Donor sites: sutures out on the expected days, and healing between looks."""

import pytest

from tests.planted import ANIMAL, CASE, found, plant, plant_case


def test_a_whole_donor_site(store):
    plant_case(store)
    plant(store, "donor_sites", donor_region="flank", suture_out_day=9, last_open_day=7, first_healed_day=12)
    plant(store, "complications", site="donor", action=["none"])
    plant(store, "complications", site="donor", complication="hair_mismatch")
    plant(store, "complications", site="recipient", complication="abscess")

    assert found(store, "donor") == [
        (CASE, ANIMAL, "dog", "mesh_graft", 1, "flank", "primary", 9, "all_out", 7, 12, "sure_yes", None, 1)
    ]


SUTURES = [
    ({"suture_out_day": 6}, "sure_no", "out before day 7"),
    ({"suture_out_day": 7}, "sure_yes", None),
    ({"suture_out_day": 10, "suture_state": "staples_out"}, "sure_yes", None),
    ({"suture_out_day": 11}, "sure_no", "out after day 10"),
    ({"suture_out_day": 8, "suture_state": "removed_by_animal"}, "sure_yes", None),
    ({"suture_out_day": 8, "suture_state": "partial"}, "cannot_tell", "only some taken out"),
    ({"suture_out_day": 10, "suture_state": "partial"}, "cannot_tell", "only some taken out"),
    ({"suture_out_day": 5, "suture_state": "partial"}, "cannot_tell", "only some taken out"),
    ({"suture_out_day": 14, "suture_state": "partial"}, "sure_no", "out after day 10"),
    ({"suture_out_day": 8, "suture_state": None}, "sure_yes", None),
    ({}, "cannot_tell", "day not recorded"),
    ({"suture_state": "absorbable"}, "excluded", "no sutures to take out"),
    ({"suture_state": "none_placed"}, "excluded", "no sutures to take out"),
    ({"suture_state": None, "donor_closure": "left_open"}, "excluded", "no sutures to take out"),
    ({"suture_state": None, "absent": ["suture_state=not_applicable"]}, "excluded", "no sutures to take out"),
    ({"suture_state": None, "absent": ["suture_out_date=not_applicable"]}, "excluded", "no sutures to take out"),
    ({"suture_state": None, "donor_closure": None}, "cannot_tell", "day not recorded"),
]


@pytest.mark.parametrize(("site", "status", "reason"), SUTURES)
def test_sutures_out_on_day_7_to_10(store, site, status, reason):
    plant_case(store)
    plant(store, "donor_sites", **site)

    assert found(store, "donor", "status", "reason") == [(status, reason)]


@pytest.mark.parametrize(
    ("exit_reason", "day", "reason"),
    [
        ("died_unrelated", 10, "died, unrelated, sutures not seen out"),
        ("died_unrelated", 11, "day not recorded"),
        ("lost_before_healing", 8, "day not recorded"),
    ],
)
def test_sutures_of_an_animal_that_left(store, exit_reason, day, reason):
    plant_case(store)
    plant(store, "donor_sites")
    plant(store, "exits", exit_reason=exit_reason, exit_day=day)

    assert found(store, "donor", "status", "reason") == [("cannot_tell", reason)]


@pytest.mark.parametrize(
    ("site", "span"),
    [
        ({}, (None, None)),
        ({"last_open_day": 7}, (7, None)),
        ({"first_healed_day": 12}, (0, 12)),
        ({"last_open_day": 7, "first_healed_day": 12}, (7, 12)),
    ],
)
def test_donor_healing_is_an_interval(store, site, span):
    plant_case(store)
    plant(store, "donor_sites", **site)

    assert found(store, "donor", "healed_left", "healed_right") == [span]


def test_sites_of_excluded_cases(store):
    plant_case(store, surgery_month="1999-12")
    plant(store, "donor_sites", suture_out_day=8)

    columns = ("status", "reason", "complications")
    assert found(store, "donor", *columns) == [("excluded", "outside the period", 0)]
