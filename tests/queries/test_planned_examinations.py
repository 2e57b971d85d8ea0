"""Healing from planned examinations only, and why wounds were looked at."""

import pytest

from audit.analyses.healing import healing
from audit.analyses.planned_examinations import planned_examinations
from audit.protocol import read_protocol
from tests.planted import found, plant, plant_case, protocol_with

SPAN = ("left_day", "right_day", "cause", "exit_day")


def examination(store, day, epithelialised, why="scheduled", **values):
    plant(store, "visits", visit_day=day, epithelialised=epithelialised, scheduled=why, **values)


def test_only_planned_looks_move_the_ends(store):
    plant_case(store)
    for day, answer, why in [
        (7, "no", "scheduled"),
        (12, "no", "prompted"),
        (16, "yes", "opportunistic"),
        (18, "yes", None),
    ]:
        examination(store, day, answer, why)
    examination(store, 21, "yes")
    plant(store, "exits", exit_reason="died_unrelated", exit_day=30)

    assert found(store, "healing", *SPAN) == [(12, 16, "healed", 30)]
    assert found(store, "healing_planned", *SPAN) == [(7, 21, "healed", 30)]
    assert found(store, "examination_reason_tally", "why", "examinations") == [
        ("opportunistic", 1), ("prompted", 1), ("scheduled", 2), (None, 1),
    ]  # fmt: skip


def test_the_last_of_the_planned_looks_that_found_it_open_counts(store):
    plant_case(store)
    for day, answer in ((4, "no"), (7, "no"), (12, "no"), (21, "yes"), (30, "no")):
        examination(store, day, answer)

    assert found(store, "healing_planned", *SPAN) == [(12, 21, "healed", None)]


def test_healed_at_other_looks_only_is_censored_whatever_came_later(store):
    plant_case(store)
    examination(store, 7, "no")
    examination(store, 16, "yes", "prompted")
    plant(store, "exits", exit_reason="died_unrelated", exit_day=30)

    assert found(store, "healing_planned", *SPAN) == [(7, None, "censored", 30)]


def test_who_never_healed_keeps_the_other_end(store):
    plant_case(store)
    examination(store, 7, "no", "prompted")
    plant(store, "exits", exit_reason="amputated_wound", exit_day=9)

    assert found(store, "healing_planned", *SPAN) == [(0, None, "amputated_wound", 9)]


def test_a_planned_look_of_a_day_is_not_overruled_by_another(store):
    plant_case(store)
    examination(store, 14, "no", "prompted")
    examination(store, 14, "yes", contact="inpatient")

    assert found(store, "healing", *SPAN) == [(14, None, "censored", None)]
    assert found(store, "healing_planned", *SPAN) == [(0, 14, "healed", None)]


def test_asked_about_the_wound_planned_looks_of_both_operations_count(store):
    plant_case(store)
    examination(store, 18, "no")
    plant(store, "reconstructions", operation=2, running_order=2, clock_day=20)
    examination(store, 5, "no", "prompted", operation=2)
    examination(store, 15, "yes", operation=2)

    assert found(store.under(protocol_with("healing", question="wound")), "healing_planned", *SPAN) == [
        (18, 35, "healed", None)
    ]


def test_estimates_of_both_kinds_of_looks_stand_side_by_side(store):
    protocol = read_protocol()
    for number in range(12):
        plant_case(store, f"{number:012x}")
        examination(store, 14, "no", animal=f"{number:012x}")
        examination(store, 18, "yes" if number < 6 else "no", "prompted", animal=f"{number:012x}")
        examination(store, 28, "yes", animal=f"{number:012x}")

    (answer,) = planned_examinations(store.under(protocol), healing(store.under(protocol)))
    assert (answer.cases, answer.examinations, answer.days) == (12, (24, 12, 0, 0), (21, 42))
    from_all, from_planned = answer.by_all[0], answer.by_planned[0]
    # Six healed by day 18 and six between 18 and 28; planned ones say of all only that it was between 14 and 28.
    assert (from_all.value, from_all.value_to) == pytest.approx((0.5, 1.0))
    assert (from_planned.value, from_planned.value_to) == pytest.approx((0.0, 1.0))
    assert [answer.by_all[1].value, answer.by_planned[1].value] == pytest.approx([1.0, 1.0])


def test_without_a_look_known_as_planned_there_is_no_second_estimate(store):
    protocol = read_protocol()
    plant_case(store)
    examination(store, 14, "no", None)

    (answer,) = planned_examinations(store.under(protocol), healing(store.under(protocol)))
    assert (answer.examinations, answer.by_planned, answer.median_planned) == ((0, 0, 0, 1), None, None)
