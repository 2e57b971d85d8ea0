"""Bandage changes, counted by the day."""

from tests.planted import ANIMAL, CASE, found, plant, plant_case


def change(store, day, *, changed=True, **values):
    plant(store, "visits", visit_day=day, bandage_changed=changed, **values)


def test_changes_and_the_longest_wait_between_them(store):
    plant_case(store)
    for day in (2, 5, 9, 16):
        change(store, day)
    change(store, 9, contact="owner_photo")
    change(store, 12, changed=False)
    change(store, 20, changed=None, epithelialised="yes")
    change(store, 30, contact="other_practice_report")
    plant(store, "exits", last_seen_day=25)

    assert found(store, "bandage_change") == [
        (CASE, ANIMAL, "dog", "mesh_graft", day) for day in (2, 5, 9, 16, 30)
    ]  # fmt: skip
    assert found(store, "bandage") == [
        (CASE, ANIMAL, "dog", "mesh_graft", 5, 2, 7, 2, 3, 4, 25, "eligible", None)
    ]  # fmt: skip


def test_waits_end_with_the_first_look_that_found_it_healed(store):
    plant_case(store)
    for day in (7, 14, 16, 21):
        change(store, day)
    change(store, 12, changed=False, epithelialised="yes")
    change(store, 30, changed=False, epithelialised="yes")

    columns = ("changes", "longest_gap", "changes_by_7", "changes_by_14", "changes_by_21")
    assert found(store, "bandage", *columns) == [(4, None, 1, 2, 4)]


def test_waits_count_to_day_21_where_it_was_not_seen_healed(store):
    plant_case(store)
    for day in (3, 21, 22, 60):
        change(store, day)

    assert found(store, "bandage", "changes", "longest_gap", "followed_to") == [(4, 18, 60)]


def test_no_change_is_not_the_same_as_no_answer(store):
    plant_case(store, "1" * 12)
    change(store, 5, changed=False, animal="1" * 12)
    plant_case(store, "2" * 12)
    change(store, 5, changed=None, animal="2" * 12)
    plant_case(store, "3" * 12)
    plant_case(store, "4" * 12, done_method="not_done")

    counts = ("changes", "changes_by_7", "changes_by_14", "changes_by_21", "first_change_day", "longest_gap")
    columns = ("animal", *counts, "followed_to", "status", "reason")
    assert found(store, "bandage", *columns) == [
        ("1" * 12, 0, 0, 0, 0, None, None, 5, "eligible", None),
        ("2" * 12, 0, 0, 0, 0, None, None, 5, "excluded", "bandage changes not recorded"),
        ("3" * 12, 0, 0, 0, 0, None, None, None, "excluded", "bandage changes not recorded"),
        ("4" * 12, 0, 0, 0, 0, None, None, None, "excluded", "planned, then not done"),
    ]
