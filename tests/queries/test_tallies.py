"""Counted groups are the rows of their mart, and no row is lost in them."""

from tests.planted import found, plant, plant_case, protocol_with


def test_alike_healing_is_counted_together(store):
    for name, exit_day in [("1", 80), ("2", 90)]:
        plant_case(store, name * 12)
        plant(store, "visits", animal=name * 12, visit_day=14, epithelialised="yes")
        plant(store, "exits", animal=name * 12, exit_day=exit_day)
    plant_case(store, "3" * 12, species="cat")
    plant(store, "exits", animal="3" * 12, exit_reason="died_unrelated", exit_day=9)
    plant_case(store, "4" * 12, done_method="not_done")

    assert found(store, "healing_tally") == [
        ("cat", "mesh_graft", "distal_limb", 0, None, "died_unrelated", 9, 1),
        ("dog", "mesh_graft", "distal_limb", 0, 14, "healed", None, 2),
    ]


def test_take_by_place_and_by_animal(store):
    plant_case(store, "1" * 12)
    plant(store, "reconstructions", animal="1" * 12, operation=2)
    plant_case(store, "2" * 12)
    plant_case(store, "3" * 12, done_method="flap_axial")
    plant(store, "visits", animal="1" * 12, viable_pct=90)
    plant(store, "visits", animal="1" * 12, operation=2, viable_pct=10, lost_pct=90)

    assert found(store.under(protocol_with("analysis", unit="every_reconstruction")), "take_tally") == [
        ("dog", "flap_axial", "distal_limb", "excluded", 1, 1),
        ("dog", "mesh_full", "distal_limb", "cannot_tell", 1, 1),
        ("dog", "mesh_full", "distal_limb", "sure_no", 1, 1),
        ("dog", "mesh_full", "distal_limb", "sure_yes", 1, 1),
    ]
    assert found(store.under(protocol_with("analysis", unit="every_reconstruction")), "animal_tally") == [
        ("dog", 2, 1, 1)
    ]


def test_equal_grades_are_counted_together(store):
    for name in "12":
        plant_case(store, name * 12)
        plant(store, "scores", animal=name * 12, value=3)

    assert found(store, "score_tally") == [("dog", "hair", "mesh_graft", 3, 2)]
