"""How much of a graft was alive, read once, at the right visit, and never guessed."""

import pytest

from tests.planted import ANIMAL, CASE, found, plant, plant_case

READING = ("read_on_day", "viable_pct", "uncertain_pct", "lost_full_pct", "status", "reason")


def primary(store):
    return [row[1:] for row in found(store, "take", "is_primary", *READING) if row[0]]


def test_one_row_a_threshold(store):
    plant_case(store)
    plant(store, "visits", viable_pct=80, lost_pct=15, uncertain_pct=5, loss_depth="full_thickness")

    about = (CASE, ANIMAL, "dog", "mesh_full", "mesh_graft", "distal_limb")
    assert found(store, "take") == [
        (*about, 50, False, 10, 80, 5, 15, "full_thickness", *("sure_yes", None) * 2),
        (*about, 75, True, 10, 80, 5, 15, "full_thickness", *("sure_yes", None) * 2),
        (*about, 90, False, 10, 80, 5, 15, "full_thickness", *("sure_no", None) * 2),
    ]


def test_a_later_graft_answers_only_where_each_counts(store):
    plant_case(store)
    plant(store, "visits", viable_pct=20, lost_pct=80)
    plant(store, "reconstructions", operation=2, running_order=2, clock_day=20)
    plant(store, "visits", operation=2, viable_pct=90, lost_pct=10)
    plant(store, "reconstructions", operation=3, running_order=3, clock_day=40, done_method="flap_axial")
    plant(store, "reconstructions", operation=4, running_order=4, clock_day=60)

    later = ("excluded", "not the first operation of its animal")
    rows = found(store, "take", "is_primary", "status", "reason", "status_each", "reason_each")
    assert [row[1:] for row in rows if row[0]] == [
        ("sure_no", None, "sure_no", None),
        (*later, "sure_yes", None),
        (*later, "excluded", "not a free graft"),
        (*later, "cannot_tell", "not looked at between day 7 and 14"),
    ]


JUDGED = [
    ({"viable_pct": 75, "lost_pct": 25}, (75, 0, 25, "sure_yes", None)),
    ({"viable_pct": 70, "lost_pct": 25}, (70, 5, 25, "cannot_tell", "doubtful part straddles the threshold")),
    ({"viable_pct": 70, "lost_pct": 26, "uncertain_pct": 4}, (70, 4, 26, "sure_no", None)),
    ({"viable_pct": 70}, (70, 30, None, "cannot_tell", "doubtful part straddles the threshold")),
    ({"viable_pct": 70, "uncertain_pct": 0}, (70, 0, None, "sure_no", None)),
    ({"viable_pct": 60, "lost_pct": 41}, (60, 0, 41, "sure_no", None)),
    ({"viable_pct": 40, "lost_pct": 60, "loss_depth": "epidermal_only"}, (100, 0, 0, "sure_yes", None)),
    ({"viable_pct": 40, "lost_pct": 61, "loss_depth": "epidermal_only"}, (100, 0, 0, "sure_yes", None)),
    (
        {"viable_pct": 40, "lost_pct": 60, "loss_depth": "mixed"},
        (40, 60, 0, "cannot_tell", "doubtful part straddles the threshold"),
    ),
    ({"viable_pct": 80, "loss_depth": "epidermal_only"}, (80, 20, 0, "sure_yes", None)),
    ({"viable_pct": 80, "loss_depth": "mixed"}, (80, 20, 0, "sure_yes", None)),
    ({"viable_pct": 40, "lost_pct": 60, "loss_depth": "full_thickness"}, (40, 0, 60, "sure_no", None)),
]


@pytest.mark.parametrize(("visit", "judged"), JUDGED)
def test_take_lies_between_the_viable_and_the_viable_with_the_doubtful(store, visit, judged):
    plant_case(store)
    plant(store, "visits", **visit)

    assert primary(store) == [(10, *judged)]


@pytest.mark.parametrize(
    ("days", "read_on"),
    [([6, 15], None), ([7, 14], 7), ([9, 11], 11), ([8, 11, 14], 11), ([7, 13], 13), ([10, 11], 10)],
)
def test_read_at_the_visit_nearest_day_10_and_of_two_the_later(store, days, read_on):
    plant_case(store)
    for day in days:
        plant(store, "visits", visit_day=day, viable_pct=90)

    assert [row[0] for row in primary(store)] == [read_on]


NOT_A_READING = [
    {"graft_visible": False, "viable_pct": 90},
    {"graft_visible": None, "viable_pct": 90},
    {"contact": "phone", "viable_pct": 90},
    {"contact": "other_practice_report", "viable_pct": 90},
    {"viable_pct": None, "lost_pct": 10},
]


@pytest.mark.parametrize("visit", NOT_A_READING)
def test_what_shows_nothing_is_passed_over_for_a_farther_visit(store, visit):
    plant_case(store)
    plant(store, "visits", **visit)
    plant(store, "visits", visit_day=13, contact="owner_photo", viable_pct=20, lost_pct=80)

    assert primary(store) == [(13, 20, 0, 80, "sure_no", None)]


def test_of_two_contacts_on_a_day_the_one_in_person_is_read(store):
    plant_case(store)
    plant(store, "visits", contact="owner_photo", viable_pct=100, lost_pct=0)
    plant(store, "visits", contact="clinic", viable_pct=60, lost_pct=40)

    assert primary(store) == [(10, 60, 0, 40, "sure_no", None)]


LEFT = [
    (None, "cannot_tell", "not looked at between day 7 and 14"),
    (("amputated_wound", 14), "sure_no", "amputated for the wound by day 14, take not read"),
    (("died_related", 3), "sure_no", "died, related by day 14, take not read"),
    (("re_grafted", 9), "sure_no", "grafted again by day 14, take not read"),
    (("euthanased_financial", 9), "sure_no", "euthanased for cost by day 14, take not read"),
    (("died_unrelated", 9), "cannot_tell", "died, unrelated by day 14, take not read"),
    (("amputated_other", 9), "cannot_tell", "amputated, other reason by day 14, take not read"),
    (("amputated_wound", 15), "cannot_tell", "not looked at between day 7 and 14"),
    (("lost_before_healing", 9), "cannot_tell", "not looked at between day 7 and 14"),
]


@pytest.mark.parametrize(("leaves", "status", "reason"), LEFT)
def test_never_read(store, leaves, status, reason):
    plant_case(store)
    plant(store, "visits", visit_day=3, viable_pct=100)
    if leaves:
        plant(store, "exits", exit_reason=leaves[0], exit_day=leaves[1])

    assert primary(store) == [(None, None, None, None, status, reason)]


def test_a_reading_stands_whatever_came_after_it(store):
    plant_case(store)
    plant(store, "visits", visit_day=8, viable_pct=90)
    plant(store, "exits", exit_reason="amputated_wound", exit_day=12)

    assert primary(store) == [(8, 90, 10, None, "sure_yes", None)]


def test_flaps_and_excluded_cases_are_not_asked(store):
    plant_case(store, "1" * 12, done_method="flap_axial")
    plant(store, "visits", animal="1" * 12, viable_pct=90, lost_pct=10)
    plant_case(store, "2" * 12, done_method="not_done")

    assert primary(store) == [
        (10, 90, 0, 10, "excluded", "not a free graft"),
        (None, None, None, None, "excluded", "planned, then not done"),
    ]


def test_pieces_are_read_as_the_share_alive_of_those_seen(store):
    plant_case(store, done_method="punch", pieces_placed=12)
    plant(store, "visits", pieces_seen=0, pieces_alive=0)
    plant(store, "visits", visit_day=12, pieces_seen=10, pieces_alive=7)

    assert primary(store) == [(12, 70, 0, 30, "sure_no", None)]


def test_pieces_are_read_at_the_later_of_two_days_and_in_person(store):
    plant_case(store, done_method="punch", pieces_placed=12)
    plant(store, "visits", visit_day=9, pieces_seen=12, pieces_alive=12)
    plant(store, "visits", visit_day=11, contact="owner_photo", pieces_seen=11, pieces_alive=11)
    plant(store, "visits", visit_day=11, contact="home_visit", pieces_seen=10, pieces_alive=8)

    assert primary(store) == [(11, 80, 0, 20, "sure_yes", None)]
