"""A tally counts alike cases together and loses none: its weights and codes are those of the rows behind it."""

from collections import Counter

import pytest

from audit.analyses.tally import KEPT
from audit.engine import queries
from audit.protocol import read_protocol
from tests.planted import found, plant, plant_case, protocol_with

DOGS = "123456"
EVERY = protocol_with("analysis", unit="every_reconstruction")

# The rows of each tally that counts cases: a mart, and which of its rows.
BEHIND = {
    "bandage_tally": (
        "bandage",
        lambda r: (r["status"] == "eligible") | (r["reason"] == "bandage changes not recorded"),
    ),
    "case_mix_tally": ("case_list", lambda r: r["status"] == "eligible"),
    "complication_tally": ("complication_status", lambda r: r["status"].notna()),
    "covariate_tally": ("case_list", lambda r: r["status"] == "eligible"),
    "donor_tally": ("donor", lambda r: r["reason"] != "planned, then not done"),
    "flow_tally": ("case_list", lambda r: r["status"].notna()),
    "healing_by_day_tally": ("healing_by_day", lambda r: r["status"].notna()),
    "healing_planned_tally": ("healing_planned", lambda r: r["status"].notna()),
    "healing_tally": ("healing", lambda r: r["status"].notna()),
    "score_tally": ("score", lambda r: r["status"].notna()),
    "take_tally": ("take", lambda r: r["status"].notna()),
}
COUNTED_OTHERWISE = {
    "complication_kind_tally", "completeness_tally", "examination_reason_tally", "open_area_tally", "rating_tally",
}  # fmt: skip


def practice(store):
    """Five dogs alike but for their codes, the sixth with two operations, a cat, and an operation that was not done."""
    for name in DOGS:
        plant_case(store, name * 12)
        plant(store, "exits", animal=name * 12)
    plant(store, "reconstructions", animal="6" * 12, operation=2)
    plant(store, "exits", animal="6" * 12, operation=2)
    plant_case(store, "7" * 12, species="cat")
    plant_case(store, "8" * 12, done_method="not_done")
    for animal, operation in [*((name * 12, 1) for name in "1234567"), ("6" * 12, 2)]:
        case = {"animal": animal, "operation": operation}
        plant(store, "donor_sites", **case)
        plant(store, "complications", **case)
        plant(store, "scores", value=3, **case)
        for day, area, answer in ((3, 4.0, "no"), (10, 2.0, "no"), (20, 0.0, "yes")):
            seen = {"open_area_cm2": area, "epithelialised": answer, "viable_pct": 90, "lost_pct": 10}
            plant(store, "visits", visit_day=day, bandage_changed=True, scheduled="scheduled", **seen, **case)
    plant(store, "donor_sites", animal="8" * 12)


@pytest.mark.parametrize("name", BEHIND)
def test_a_tally_holds_every_row_behind_it_and_counts_alike_ones_together(store, name):
    practice(store)
    cases = store.under(EVERY)
    tally, (mart, is_asked) = cases.rows(name), BEHIND[name]
    behind = cases.rows(mart)
    behind = behind[is_asked(behind.fillna({"reason": ""}))]

    assert tally["weight"].sum() == len(behind) >= 8
    assert Counter(code for codes in tally["case_codes"] for code in codes) == Counter(behind["case_code"])
    assert (tally["weight"] == tally["case_codes"].map(len)).all()
    alike = {f"{dog * 12}-A1" for dog in "12345"}
    together = [{*codes} for codes in tally["case_codes"] if alike & {*codes}]
    assert together == [alike] * len(together) != []
    is_of_two = tally["case_codes"].map(lambda codes: codes[0].startswith("6" * 12))
    assert tally.loc[is_of_two, "animal"].nunique() == 1
    assert (tally["animal"].notna() == is_of_two).all()


def test_every_tally_is_held_to_its_rows():
    named = {*BEHIND} | COUNTED_OTHERWISE
    assert named == {*queries("tallies")}, "name a new tally in BEHIND, with the mart and the rows that it counts"


@pytest.mark.parametrize("name", BEHIND)
def test_a_tally_of_cases_has_the_columns_that_statistics_read(store, name):
    lacking = {*KEPT} - {*store.under(EVERY).rows(name)}
    assert not lacking, f"queries/tallies/{name}.sql lacks {sorted(lacking)}"


def test_what_is_counted_otherwise_is_complete_too(store):
    practice(store)
    cases = store.under(EVERY)

    assert found(cases, "examination_reason_tally") == [
        ("cat", "mesh_graft", "scheduled", 3),
        ("dog", "mesh_graft", "scheduled", 21),
    ]
    assert [row[:-1] for row in found(cases, "complication_kind_tally")] == [
        ("cat", "fluid", "seroma", "minor", True, 1, 1), ("dog", "fluid", "seroma", "minor", True, 7, 7),
    ]  # fmt: skip
    areas = cases.rows("open_area_tally")
    assert sorted(code for codes in areas["case_codes"] for code in codes) == [
        *(f"{dog * 12}-A1" for dog in "123456"), "666666666666-A2", "777777777777-A1",
    ]  # fmt: skip
    assert {(*days,) for days in areas["days"]} == {(3, 10, 20)}
    assert {(*sizes,) for sizes in areas["areas_cm2"]} == {(4.0, 2.0, 0.0)}
    assert areas["animal"].notna().sum() == 2
    ratings = cases.rows("rating_tally")
    assert len(ratings) == 8
    assert (ratings["animal"].nunique(), ratings["photograph"].nunique(), ratings["rater"].nunique()) == (7, 8, 1)


def test_a_case_with_two_complications_of_a_kind_is_one_case(store):
    case = plant_case(store)
    for day in (4, 9):
        plant(store, "complications", first_seen_day=day)
    assert found(store, "complication_kind_tally", "complication", "complications", "weight") == [("seroma", 2, 1)]
    assert [(*codes,) for codes in store.under(EVERY).rows("complication_kind_tally")["case_codes"]] == [(case,)]


def test_an_animal_with_two_operations_keeps_its_number_where_one_of_them_is_asked_about(store):
    practice(store)
    taken = store.under(read_protocol()).rows("take_tally").query("is_primary")
    of_two = taken[taken["animal"].notna()]
    assert of_two[["status", "reason", "status_each", "weight"]].values.tolist() == [
        ["excluded", "not the first operation of its animal", "sure_yes", 1], ["sure_yes", None, "sure_yes", 1],
    ]  # fmt: skip
    assert of_two["animal"].nunique() == 1


def test_an_owner_who_marked_two_operations_of_an_animal_speaks_once(store):
    practice(store)
    for operation, value in ((1, 4.0), (2, 9.0)):
        mark = {"item": "look_owner", "rater_role": "owner", "value": value, "rater_code": "9" * 12}
        plant(store, "scores", animal="6" * 12, operation=operation, **mark)
    rows = [
        row
        for row in found(
            store.under(EVERY), "score_tally", "item", "species", "value", "status", "reason", "weight", "animal"
        )
        if row[0] == "look_owner" and row[6] is not None
    ]
    assert [row[2:6] for row in rows] == [(4, "scored", None, 1), (9, "not_scored", "another case of the animal", 1)]


def test_donor_sites_of_one_operation_are_sites_of_one_animal(store):
    case = plant_case(store)
    plant_case(store, "b" * 12)
    for site, day in ((1, 8), (2, 8), (3, 12)):
        plant(store, "donor_sites", donor=site, suture_out_day=day)
    plant(store, "donor_sites", animal="b" * 12, suture_out_day=8)
    tally = store.under(read_protocol()).rows("donor_tally")
    # The number of the site tells alike sites of one operation apart.
    assert tally[["donor", "status", "weight"]].values.tolist() == [
        [1, "sure_yes", 1], [1, "sure_yes", 1], [2, "sure_yes", 1], [3, "sure_no", 1],
    ]  # fmt: skip
    of_one = tally[tally["animal"].notna()]
    assert {code for codes in of_one["case_codes"] for code in codes} == {case}
    assert (len(of_one), of_one["animal"].nunique()) == (3, 1)
