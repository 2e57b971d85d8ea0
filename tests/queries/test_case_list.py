"""Which reconstructions there are, and why some are not asked about."""

import pytest

from audit.protocol import read_protocol
from tests.planted import ANIMAL, CASE, found, plant, plant_case, protocol_with


def test_a_whole_case(store):
    plant(
        store, "animals", species="cat", age_years=4.5, sex="female", neutered="neutered", breed_group="cat_short_coat"
    )
    plant(store, "wounds", cause="bite", region="pad_carpal", bed_grade="g3", contamination="contaminated",
          area_cm2=12.0, area_method="tracing_grid", earlier_closures=1)  # fmt: skip
    plant(store, "reconstructions", planned_method="mesh_full", done_method="punch", recipient_bed="granulating",
          graft_area_cm2=9.5, body_mass_kg=4.1, asa=2, running_order=3)  # fmt: skip
    plant(store, "visits", visit_day=9)
    plant(store, "visits", visit_day=11, contact="owner_photo", graft_visible=False)
    plant(store, "visits", visit_day=40, contact="phone")
    plant(store, "exits", exit_reason="transferred_care", exit_day=40, last_seen_day=10)

    cases = store.under(read_protocol())
    (row,) = (dict(zip(cases.rows("case_list").columns, row, strict=True)) for row in found(cases, "case_list"))
    assert row == {
        "case_code": CASE, "animal": ANIMAL, "wound": "A", "operation": 1, "species": "cat", "age_years": 4.5,
        "sex": "female", "neutered": "neutered", "breed_group": "cat_short_coat", "cause": "bite",
        "cause_group": "trauma", "region": "pad_carpal", "location": "foot_pad", "is_distal": True,
        "planned_method": "mesh_full", "method": "punch", "method_group": "piece_graft", "is_free_graft": True,
        "recipient_bed": "granulating", "bed_grade": "g3",
        "contamination": "contaminated", "area_cm2": 12.0,
        "area_method": "tracing_grid", "graft_area_cm2": 9.5, "body_mass_kg": 4.1, "asa": 2, "surgery_month": "2024-05",
        "running_order": 3, "clock_day": 0, "earlier_closures": 1, "exit_reason": "transferred_care",
        "exit_group": "lost",
        "exit_day": 40, "last_seen_day": 11, "visits": 3, "examinations": 2, "was_seen": True, "animal_order": 1,
        "is_first": True,
        "reason": None, "status": "eligible",
    }  # fmt: skip


def test_a_look_a_last_look_or_a_complication_is_to_be_seen_after_surgery(store):
    for letter in "abcdef":
        plant_case(store, letter * 12)
    plant(store, "visits", animal="a" * 12, visit_day=3, contact="phone")
    plant(store, "visits", animal="b" * 12, visit_day=3)
    plant(store, "exits", animal="c" * 12, exit_reason="lost_before_healing", exit_day=40, last_seen_day=0)
    plant(store, "exits", animal="d" * 12, exit_reason="lost_before_healing", exit_day=40, last_seen_day=30)
    plant(store, "complications", animal="e" * 12, first_seen_day=10)

    seen = [code[0] for code, was_seen in found(store, "case_list", "case_code", "was_seen") if was_seen]
    assert seen == ["b", "d", "e"]


def test_each_reason_to_leave_a_case_out(store):
    plant_case(store, "0" * 12, done_method="not_done", surgery_month="2023-01")
    plant_case(store, "1" * 12, surgery_month="2023-12")
    plant_case(store, "2" * 12, surgery_month="2025-01")
    plant_case(store, "3" * 12)
    plant(store, "exits", animal="3" * 12, exit_reason="consent_withdrawn", exit_day=9)
    plant_case(store, "4" * 12, surgery_month="2024-01")
    plant(store, "reconstructions", animal="4" * 12, operation=2, surgery_month="2024-12", clock_day=340)

    assert found(
        store.under(protocol_with("period", start="2024-01", end="2024-12")),
        "case_list",
        "case_code",
        "animal_order",
        "status",
        "reason",
    ) == [
        ("000000000000-A1", None, "excluded", "planned, then not done"),
        ("111111111111-A1", 1, "excluded", "outside the period"),
        ("222222222222-A1", 1, "excluded", "outside the period"),
        ("333333333333-A1", 1, "excluded", "consent withdrawn"),
        ("444444444444-A1", 1, "eligible", None),
        ("444444444444-A2", 2, "excluded", "not the first operation of its animal"),
    ]


def test_every_reconstruction_may_be_asked_about(store):
    plant_case(store)
    plant(store, "reconstructions", operation=2, running_order=2, clock_day=10)

    assert found(
        store.under(protocol_with("analysis", unit="every_reconstruction")),
        "case_list",
        "case_code",
        "is_first",
        "status",
    ) == [
        (CASE, True, "eligible"),
        (f"{ANIMAL}-A2", False, "eligible"),
    ]


def test_the_first_operation_is_the_earliest_that_was_done(store):
    """Operation 1 was not done; of two in one month the running order tells which came first."""
    plant_case(store, done_method="not_done", surgery_month="2024-01")
    plant(store, "wounds", wound="B", region="flank")
    plant(store, "reconstructions", operation=2, surgery_month="2024-05", running_order=7, clock_day=120)
    plant(store, "reconstructions", wound="B", surgery_month="2024-05", running_order=6)

    assert found(store, "case_list", "case_code", "animal_order", "is_first") == [
        (CASE, None, False),
        (f"{ANIMAL}-A2", 2, False),
        (f"{ANIMAL}-B1", 1, True),
    ]


@pytest.mark.parametrize(
    ("method", "group", "is_free_graft"),
    [
        ("pad_segmental", "piece_graft", True),
        ("mesh_full", "mesh_graft", True),
        ("sheet_split", "sheet_graft", True),
        ("flap_fold", "flap", False),
        ("primary_closure", "closure", False),
        ("combined", "combined", False),
    ],
)
def test_kinds_of_method(store, method, group, is_free_graft):
    plant_case(store, done_method=method)

    assert found(store, "case_list", "method_group", "is_free_graft") == [(group, is_free_graft)]


def test_ended_records_are_no_longer_counted(store):
    plant_case(store)
    plant(store, "visits", ended_by=2)

    assert found(store, "case_list", "visits", "examinations", "last_seen_day") == [(0, 0, None)]
