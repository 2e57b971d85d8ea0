"""Between which looks a wound healed, and what that says about a given day."""

import pytest

from tests.planted import ANIMAL, CASE, found, plant, plant_case, protocol_with

SPAN = ("left_day", "right_day", "is_confirmed", "reopened_day", "exit_day", "cause", "status", "reason")


def look(store, day, epithelialised, **values):
    plant(store, "visits", visit_day=day, epithelialised=epithelialised, **values)


def test_healed_between_the_last_open_and_the_first_healed_look(store):
    plant_case(store)
    for day, answer in [(7, "no"), (14, "no"), (21, "yes"), (28, "yes")]:
        look(store, day, answer)
    plant(store, "exits")

    assert found(store, "healing") == [
        (CASE, ANIMAL, "dog", "mesh_full", "mesh_graft", "distal_limb", 14, 21, True, None, "followed", 120,
         "healed and followed", "healed", "eligible", None)
    ]  # fmt: skip


def test_only_looks_move_the_ends(store):
    plant_case(store)
    look(store, 0, "yes")
    look(store, 7, "no")
    look(store, 8, "no", graft_visible=None)
    look(store, 9, "no", graft_visible=False)
    look(store, 10, None, absent=["epithelialised=not_assessable"])
    look(store, 12, "no", contact="phone")
    look(store, 15, "yes", contact="other_practice_report")
    look(store, 18, "yes", contact="owner_photo")

    assert found(store, "healing", *SPAN) == [(8, 18, False, None, None, "healed", "eligible", None)]


def test_never_seen_is_censored_on_day_zero(store):
    plant_case(store)

    assert found(store, "healing", *SPAN) == [(0, None, False, None, None, "censored", "eligible", None)]
    assert found(store, "seen_when") == []


def test_contradiction_within_a_day_counts_as_open(store):
    plant_case(store)
    look(store, 20, "yes")
    look(store, 20, "no", contact="inpatient")

    assert found(store, "healing", *SPAN) == [(20, None, False, None, None, "censored", "eligible", None)]


@pytest.mark.parametrize(
    ("later", "is_confirmed", "reopened_day"),
    [
        ([(26, "yes")], False, None),
        ([(27, "yes")], True, None),
        ([(25, "no"), (30, "yes")], False, 25),
        ([(28, "yes"), (40, "no")], True, 40),
        ([(27, "yes"), (27, "no")], False, 27),
        ([(27, "yes"), (35, "no"), (40, "yes")], True, 35),
        ([(25, "no"), (26, "yes"), (30, "no")], False, 25),
    ],
)
def test_healing_is_confirmed_by_a_later_look_with_none_open_between(store, later, is_confirmed, reopened_day):
    plant_case(store)
    look(store, 20, "yes")
    for place, (day, answer) in enumerate(later):
        look(store, day, answer, contact=("clinic", "inpatient", "home_visit")[place])

    expected = [(0, 20, is_confirmed, reopened_day, None, "healed", "eligible", None)]
    assert found(store, "healing", *SPAN) == expected


COMPETING = [
    ("died_unrelated", "died_unrelated"),
    ("euthanased_other", "died_unrelated"),
    ("died_related", "died_related"),
    ("euthanased_wound", "died_related"),
    ("euthanased_financial", "euthanased_cost"),
    ("amputated_wound", "amputated_wound"),
    ("amputated_other", "amputated_other"),
    ("re_grafted", "re_operated"),
    ("converted_other_method", "re_operated"),
    ("lost_before_healing", "censored"),
    ("transferred_care", "censored"),
    ("still_open_at_lock", "censored"),
    ("healed_and_followed", "censored"),
]


@pytest.mark.parametrize(("exit_reason", "cause"), COMPETING)
def test_what_ended_the_watch_without_healing(store, exit_reason, cause):
    plant_case(store)
    look(store, 9, "no")
    plant(store, "exits", exit_reason=exit_reason, exit_day=16)

    assert found(store, "healing", *SPAN) == [(9, None, False, None, 16, cause, "eligible", None)]


def plant_two_operations(store):
    """Open on day 18, grafted again on day 20, seen open 5 days and healed 15 days after that."""
    plant_case(store)
    look(store, 18, "no")
    plant(store, "exits", exit_reason="re_grafted", exit_day=20)
    plant(store, "reconstructions", operation=2, done_method="punch", running_order=2, clock_day=20)
    look(store, 5, "no", operation=2)
    look(store, 15, "yes", operation=2)
    plant(store, "exits", operation=2, exit_day=60)


def test_asked_about_the_graft_a_second_one_is_a_failure_of_the_first(store):
    plant_two_operations(store)

    assert found(store, "healing", "case_code", *SPAN) == [
        (CASE, 18, None, False, None, 20, "re_operated", "eligible", None),
        (f"{ANIMAL}-A2", 5, 15, False, None, 60, "healed", "excluded", "not the first operation of its animal"),
    ]


@pytest.mark.parametrize("question", ["wound", "animal"])
def test_asked_about_the_wound_its_clock_runs_on(store, question):
    plant_two_operations(store)

    assert found(store.under(protocol_with("healing", question=question)), "healing", "case_code", *SPAN) == [
        (CASE, 25, 35, False, None, 80, "healed", "eligible", None),
    ]


def test_a_re_operation_without_a_record_ends_no_wound(store):
    plant_case(store)
    look(store, 18, "no")
    plant(store, "exits", exit_reason="re_grafted", exit_day=20)

    assert found(store.under(protocol_with("healing", question="wound")), "healing", *SPAN) == [
        (18, None, False, None, 20, "censored", "eligible", None)
    ]


def test_an_operation_that_was_not_done_starts_no_clock(store):
    plant_case(store, done_method="not_done")
    plant(store, "reconstructions", operation=2, running_order=2, clock_day=9)
    look(store, 14, "yes", operation=2)

    assert found(store.under(protocol_with("healing", question="wound")), "healing", "case_code", *SPAN) == [
        (f"{ANIMAL}-A2", 0, 14, False, None, None, "healed", "eligible", None)
    ]


BY_DAY_21 = [
    # looks, exit, answer, reason
    ([(14, "yes")], None, "sure_yes", None),
    ([(14, "no"), (21, "yes")], None, "sure_yes", None),
    ([(18, "no"), (25, "yes")], None, "cannot_tell", "healed between two examinations"),
    ([(21, "no")], None, "sure_no", "seen open that day or later"),
    ([], None, "cannot_tell", "never seen open or healed"),
    ([(9, "no")], ("lost_before_healing", 12), "cannot_tell", "last seen open before that day"),
    ([(9, "no")], ("died_unrelated", 21), "sure_no", "died, unrelated"),
    ([(9, "no")], ("amputated_other", 12), "sure_no", "amputated, other reason"),
    ([(9, "no")], ("died_unrelated", 22), "cannot_tell", "last seen open before that day"),
    ([(9, "no")], ("amputated_wound", 30), "sure_no", "amputated for the wound"),
    ([(9, "no")], ("euthanased_wound", 12), "sure_no", "euthanased for the wound"),
    ([(9, "no")], ("euthanased_financial", 12), "sure_no", "euthanased for cost"),
    ([(9, "no")], ("re_grafted", 12), "sure_no", "grafted again"),
]


@pytest.mark.parametrize(("looks", "leaves", "status", "reason"), BY_DAY_21)
def test_healed_by_day_21(store, looks, leaves, status, reason):
    plant_case(store)
    for day, answer in looks:
        look(store, day, answer)
    if leaves:
        plant(store, "exits", exit_reason=leaves[0], exit_day=leaves[1])

    rows = found(store, "healing_by_day", "day", "status", "reason")
    assert [row for row in rows if row[0] == 21] == [(21, status, reason)]


def test_four_intervals_read_at_day_21(store):
    """By hand: of (0, 14], (14, 21], (18, 25] and (21, ...) two had healed, one cannot be told and one had not."""
    for name, looks in zip("abcd", [row[0] for row in BY_DAY_21[:4]], strict=True):
        plant_case(store, name * 12)
        for day, answer in looks:
            look(store, day, answer, animal=name * 12)

    rows = found(store, "healing_by_day", "case_code", "day", "status")
    assert [(code[0], status) for code, day, status in rows if day == 21] == [
        ("a", "sure_yes"),
        ("b", "sure_yes"),
        ("c", "cannot_tell"),
        ("d", "sure_no"),
    ]


def test_excluded_cases_answer_no_day(store):
    plant_case(store, done_method="not_done")

    assert found(store, "healing_by_day", "day", "status", "reason") == [
        (21, "excluded", "planned, then not done"),
        (42, "excluded", "planned, then not done"),
    ]


def test_what_was_seen_when(store):
    plant_case(store)
    look(store, 3, "no", graft_visible=False)
    look(store, 5, "yes", contact="phone")
    look(store, 7, "no")
    look(store, 14, "yes")
    look(store, 14, None, contact="phone")
    look(store, 20, "no", contact="owner_photo")
    look(store, 20, "yes")

    assert found(store, "seen_when") == [
        (CASE, 3, "not_assessable"),
        (CASE, 5, "not_seen"),
        (CASE, 7, "open"),
        (CASE, 14, "healed"),
        (CASE, 20, "open"),
    ]
