"""From all operations to those asked about, and how far they were followed, from planted tallies."""

import pytest

from audit.analyses.flow import flow
from tests.planted import tallied

DOG = {"species": "dog", "status": "eligible", "was_seen": True, "last_seen_day": 30}
ROWS = [
    DOG | {"first_month": "2023-02", "last_month": "2024-05", "exit_reason": "healed_and_followed",
           "exit_group": "followed",
           "weight": 2, "case_codes": ["a", "b"]},
    DOG | {"first_month": "2023-04", "last_month": "2023-04", "last_seen_day": 9, "exit_reason": "died_unrelated",
           "exit_group": "died_unrelated", "animal": 1, "case_codes": ["c"]},
    DOG | {"first_month": "2023-05", "last_month": "2023-05", "was_seen": False, "last_seen_day": None, "animal": 1,
           "case_codes": ["d"]},
    {"species": "dog", "status": "excluded", "reason": "not the first operation of its animal",
     "first_month": "2021-01",
     "last_month": "2025-01", "weight": 3},
    {"species": "cat", "status": "excluded", "reason": "planned, then not done", "weight": 1},
    {"species": "cat", "status": "excluded", "reason": "another reason", "weight": 1},
]  # fmt: skip
FIELD = {"table_name": "visits", "is_core": True, "not_recorded": 0, "not_assessable": 0, "refused": 0,
         "not_applicable": 0}  # fmt: skip
FIELDS = [
    FIELD | {"field": "viable_pct", "due": 10, "present": 7, "blank": 3},
    FIELD | {"field": "viable_pct", "due": 4, "present": 4, "blank": 0},
    FIELD | {"field": "notes", "is_core": False, "due": 5, "present": 1, "blank": 4},
]


@pytest.fixture(scope="module")
def answer():
    with tallied(flow_tally=ROWS, completeness_tally=FIELDS) as cases:
        return flow(cases)


def test_every_operation_leaves_once_or_stays(answer):
    assert [(stage.name, len(stage.cases), *map(len, dict(stage.left_out).values())) for stage in answer.stages] == [
        ("operations in the store", 9), ("planned, then not done", 8, 1),
        ("not the first operation of its animal", 5, 3), ("another reason", 4, 1),
    ]  # fmt: skip
    assert (answer.animals, answer.species) == (3, (("dog", 4, 3),))
    assert (answer.first_month, answer.last_month) == ("2023-02", "2024-05")


def test_how_cases_ended_and_who_was_never_seen(answer):
    assert [(reason, tuple(cases)) for reason, cases in answer.exits] == [
        ("died_unrelated", ("c",)), ("healed_and_followed", ("a", "b")), ("no exit recorded", ("d",)),
    ]  # fmt: skip
    assert tuple(answer.never_seen) == ("d",)
    # A death ends follow-up of another kind: two of three animals were followed to day 30, the third was not lost.
    assert (answer.follow_up.value, answer.follow_up.denominator) == (30, 3)


def test_answers_due_in_a_field_add_up_over_the_rows_of_a_register(answer):
    assert (answer.core_complete, answer.all_complete) == ((11, 14), (12, 19))
    assert answer.completeness[["field", "due", "present", "blank"]].values.tolist() == [
        ["notes", 5, 1, 4], ["viable_pct", 14, 11, 3],
    ]  # fmt: skip


def test_nobody_asked_about():
    with tallied(flow_tally=ROWS[4:]) as cases:
        answer = flow(cases)
    assert (answer.first_month, answer.last_month, answer.follow_up, answer.exits) == ("", "", None, ())
