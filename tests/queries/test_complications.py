"""Complications by kind and grade, and whether a case had one by the day asked about."""

import pytest

from tests.planted import ANIMAL, CASE, found, plant, plant_case, protocol_with

QUESTIONS = (
    "any", "catastrophic", "infection_donor", "infection_recipient", "limb_lost_or_related_death", "major_or_worse",
    "other_than_graft_loss", "re_operated",
)  # fmt: skip


def answers(store):
    """Status by question of the only case, without the questions whose answer is a plain no."""
    rows = found(store, "complication_status", "question", "status")
    assert tuple(sorted(question for question, _ in rows)) == QUESTIONS
    return {question: status for question, status in rows if status != "sure_no"}


def reasons(store):
    """Reason by question of the only case."""
    rows = found(store, "complication_status", "question", "reason")
    assert len(rows) == len(QUESTIONS)
    return dict(rows)


def plant_followed(store):
    """A case with a donor site, followed to day 120."""
    plant_case(store)
    plant(store, "donor_sites")
    plant(store, "exits")


def test_a_whole_complication(store):
    plant_case(store)
    plant(store, "complications", complication="partial_necrosis", first_seen_day=8, last_free_day=4, extent_pct=20.0,
          action=["bandage_change", "debride_sedated"])  # fmt: skip

    assert found(store, "complication") == [
        (CASE, ANIMAL, "dog", "mesh_graft", "partial_necrosis", "graft_loss", "recipient", 8, 4, 20.0, None,
         "major", "major", True, True, False, False, False)
    ]  # fmt: skip


GRADED = [
    ({"action": ["none"]}, "minor", "minor"),
    ({"action": ["bandage_change", "topical"]}, "minor", "minor"),
    ({"action": ["topical", "antimicrobial"]}, "major", "major"),
    ({"action": ["re_graft", "amputation"]}, "catastrophic", "catastrophic"),
    ({"action": ["euthanasia"]}, "catastrophic", "catastrophic"),
    ({"action": None}, None, None),
    ({"complication": "death", "action": None}, "catastrophic", "catastrophic"),
    ({"complication": "death", "action": ["none"], "related": None}, "catastrophic", "catastrophic"),
    ({"complication": "death", "action": ["none"], "related": "unlikely"}, "minor", "minor"),
    ({"action": ["none"], "grade": "major"}, "minor", "minor"),
    ({"action": ["none"], "grade": "major", "grade_reason": "clinician_judgement"}, "minor", "major"),
    ({"action": ["none"], "grade_reason": "clinician_judgement"}, "minor", "minor"),
]


@pytest.mark.parametrize(("row", "derived", "grade"), GRADED)
def test_the_grade_follows_from_the_treatment_unless_set_with_a_reason(store, row, derived, grade):
    plant_case(store)
    plant(store, "complications", **row)

    assert found(store, "complication", "derived_grade", "grade") == [(derived, grade)]


@pytest.mark.parametrize(
    ("row", "counts"),
    [
        ({}, True),
        ({"complication_class": "complication"}, True),
        ({"complication_class": "expected_sequela"}, False),
        ({"complication_class": "failure_to_cure"}, False),
        ({"complication": "hair_mismatch"}, False),
        ({"complication": "tumour_recurrence", "complication_class": "complication"}, False),
    ],
)
def test_what_counts_as_a_complication(store, row, counts):
    plant_case(store)
    plant(store, "complications", **row)

    assert found(store, "complication", "counts") == [(counts,)]


NOTHING = {}
ANSWERED = [
    (NOTHING, NOTHING),
    ({"complication": "seroma"}, {"any": "sure_yes", "other_than_graft_loss": "sure_yes"}),
    ({"complication": "graft_shear"}, {"any": "sure_yes"}),
    ({"complication": "hair_mismatch"}, NOTHING),
    (
        {"complication": "abscess", "action": ["drainage"]},
        {"any": "sure_yes", "other_than_graft_loss": "sure_yes", "infection_recipient": "sure_yes",
         "major_or_worse": "sure_yes"},
    ),
    (
        {"complication": "infection_deep", "site": "donor"},
        {"any": "sure_yes", "other_than_graft_loss": "sure_yes", "infection_donor": "sure_yes"},
    ),
    (
        {"complication": "complete_necrosis", "action": ["re_graft"]},
        {"any": "sure_yes", "major_or_worse": "sure_yes", "re_operated": "sure_yes"},
    ),
    (
        {"complication": "death", "action": None},
        {"any": "sure_yes", "other_than_graft_loss": "sure_yes", "major_or_worse": "sure_yes",
         "catastrophic": "sure_yes", "limb_lost_or_related_death": "sure_yes"},
    ),
    (
        {"action": None},
        {"any": "sure_yes", "other_than_graft_loss": "sure_yes", "major_or_worse": "cannot_tell",
         "catastrophic": "cannot_tell"},
    ),
    ({"first_seen_day": 30}, {"any": "sure_yes", "other_than_graft_loss": "sure_yes"}),
    ({"first_seen_day": 31}, NOTHING),
    ({"first_seen_day": 31, "last_free_day": 30}, NOTHING),
    ({"first_seen_day": 31, "last_free_day": 29}, {"any": "cannot_tell", "other_than_graft_loss": "cannot_tell"}),
]  # fmt: skip


@pytest.mark.parametrize(("row", "answered"), ANSWERED)
def test_each_question_about_a_followed_case(store, row, answered):
    plant_followed(store)
    if row:
        plant(store, "complications", **row)

    assert answers(store) == answered


def test_why_a_complication_cannot_be_told(store):
    plant_followed(store)
    plant(store, "donor_sites", donor=2)
    plant(store, "complications", action=None, first_seen_day=30)
    plant(
        store, "complications", complication="inclusion_cyst", action=["re_suture"], first_seen_day=40, last_free_day=20
    )

    assert reasons(store) | {"any": "", "other_than_graft_loss": ""} == dict.fromkeys(QUESTIONS) | {
        "any": "",
        "other_than_graft_loss": "",
        "major_or_worse": "a complication without a grade",
        "catastrophic": "a complication without a grade",
    }


def test_number_and_worst_grade_are_of_the_question_by_the_day(store):
    plant_followed(store)
    plant(store, "complications", action=["none"])
    plant(store, "complications", complication="abscess", action=["drainage"], first_seen_day=30)
    plant(store, "complications", complication="inclusion_cyst", action=["amputation"], first_seen_day=31)

    rows = found(store, "complication_status", "question", "complications", "worst_grade")
    assert {question: (n, worst) for question, n, worst in rows} == dict.fromkeys(QUESTIONS, (0, None)) | {
        "any": (2, "major"),
        "other_than_graft_loss": (2, "major"),
        "major_or_worse": (1, "major"),
        "infection_recipient": (1, "major"),
    }


WORST = {"any", "other_than_graft_loss", "major_or_worse", "catastrophic", "limb_lost_or_related_death"}


@pytest.mark.parametrize(
    ("exit_reason", "answered"),
    [
        ("amputated_wound", WORST),
        ("euthanased_wound", WORST),
        ("re_grafted", {"re_operated"}),
        ("euthanased_financial", set()),
        ("died_unrelated", set()),
    ],
)  # fmt: skip
def test_an_exit_may_itself_be_a_complication(store, exit_reason, answered):
    plant_case(store)
    plant(store, "donor_sites")
    plant(store, "exits", exit_reason=exit_reason, exit_day=20)

    found_answers = answers(store)
    assert {question for question, status in found_answers.items() if status == "sure_yes"} == answered
    assert {question for question, status in found_answers.items() if status == "cannot_tell"} == {
        *QUESTIONS
    } - answered


FOLLOWED = [
    ([{"table": "visits", "visit_day": 30}], None),
    ([{"table": "visits", "visit_day": 30, "contact": "phone"}], None),
    ([{"table": "visits", "visit_day": day, "contact": "phone"} for day in (4, 30)], None),
    (
        [{"table": "visits", "visit_day": 9}, {"table": "exits", "last_seen_day": 30, "exit_reason": "died_unrelated"}],
        None,
    ),
    ([{"table": "visits", "visit_day": 29}], "not followed to day 30"),
    ([{"table": "exits", "exit_reason": "healed_and_followed", "exit_day": 30}], None),
    ([{"table": "exits", "exit_reason": "healed_then_lost", "exit_day": 30}], "not followed to day 30"),
    ([{"table": "exits", "exit_reason": "healed_then_lost", "exit_day": 30, "last_seen_day": 30}], None),
    ([], "not followed to day 30"),
]


@pytest.mark.parametrize(("rows", "reason"), FOLLOWED)
def test_no_complication_is_sure_only_when_followed_to_the_day(store, rows, reason):
    plant_case(store)
    for row in rows:
        plant(store, row["table"], **{name: value for name, value in row.items() if name != "table"})

    status = dict(found(store, "complication_status", "question", "status"))["any"]
    assert (status, reasons(store)["any"]) == ("cannot_tell" if reason else "sure_no", reason)


def test_who_was_never_heard_of_was_not_followed_for_a_day(store):
    plant_case(store)
    cases = store.under(protocol_with("complications", by_day=1))

    assert ("any", "cannot_tell", "not followed to day 1") in found(
        cases, "complication_status", "question", "status", "reason"
    )


def test_infection_of_a_donor_site_is_asked_only_where_there_is_one(store):
    plant_case(store)
    plant(store, "exits")

    rows = found(store, "complication_status", "question", "status", "reason")
    assert len(rows) == len(QUESTIONS)
    assert [row for row in rows if row[1] == "excluded"] == [("infection_donor", "excluded", "no donor site")]


def test_excluded_cases_answer_no_question(store):
    plant_case(store, done_method="not_done")
    plant(store, "complications")

    rows = found(store, "complication_status", "status", "reason")
    assert rows == [("excluded", "planned, then not done")] * len(QUESTIONS)


def test_a_case_without_complications_has_none(store):
    plant_followed(store)

    assert found(store, "complication_status", "status", "complications") == [("sure_no", 0)] * len(QUESTIONS)
