"""Limitations are raised by what the records hold, with its numbers, and by nothing else."""

import re
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd
import pytest

from audit.analyses.own_values import Answers
from audit.analyses.run import Audit, run_audit
from audit.analyses.yardsticks import yardsticks
from audit.intake.check_workbook import check_workbook
from audit.protocol import Frozen, read_protocol
from audit.store import open_store
from reports.prose import Fact
from reports.write_up.limitations.raised import CHECKS, catalogue, limitations
from synthetic_data.edge_cases import edge_case
from synthetic_data.workbook import write_workbook

EVERY_CASE = {"case-finding", "protocol-not-frozen", "rule-of-thumb"}
"""What the shipped protocol says against any series: a search of records, not frozen, a rule of thumb for a target."""


@cache
def audit_of(name: str, unit: str = "first_per_animal") -> Audit:
    protocol = read_protocol()
    protocol = protocol.model_copy(update={"analysis": protocol.analysis.model_copy(update={"unit": unit})})
    with TemporaryDirectory() as folder, open_store(":memory:", create=True) as store:
        workbook = Path(folder) / "practice.xlsx"
        write_workbook(edge_case(name), workbook)
        intake = check_workbook(workbook, key=bytes(32))
        store.load(intake.tables, fingerprint=intake.fingerprint, on=date(2026, 1, 1))
        return run_audit(store.under(protocol))


def raised(audit: Audit) -> dict[str, str]:
    """The prompts as they read, by key."""
    return {
        each.key: "".join(part.text if isinstance(part, Fact) else str(part) for part in each.raised_by)
        for each in limitations(audit)
    }


def about(audit: Audit, **changes: object) -> Audit:
    """The same answers under another protocol."""
    protocol = audit.protocol
    if "frozen" not in changes:
        changes = {"protocol": protocol.protocol.model_copy(update=changes)}
    return replace(audit, protocol=protocol.model_copy(update=changes))


@pytest.mark.parametrize(
    "name", ["one animal", "no healed case", "every outcome unknown", "only one method", "clipped hair", "re-graft"]
)
def test_every_figure_stands_in_a_fact_that_says_where_it_was_read(name):
    audit = audit_of(name)
    facts = [part for each in limitations(audit) for part in each.raised_by if isinstance(part, Fact)]
    assert len({fact.id for fact in facts}) == len(facts)
    for each in limitations(audit):
        assert not re.search(r"\d", each.asks + "".join(part for part in each.raised_by if isinstance(part, str)))
    for fact in facts:
        assert fact.id.startswith("limitation-")
        assert not re.search(r"\b(nan|None|inf|NaT)\b", fact.text)
        for source in fact.source.split():
            value: object = audit
            for step in source.split("."):
                value = getattr(value, step, None) if not isinstance(value, tuple | pd.DataFrame | pd.Series) else value
            assert value is not None or source == "protocol.frozen"


def test_catalogue_and_checks_are_of_the_same_limitations():
    assert set(catalogue()) == set(CHECKS)


def test_one_animal_that_did_well_raises_only_what_is_so():
    assert set(raised(audit_of("one animal"))) == EVERY_CASE | {
        "earlier-closures", "few-graded", "completeness", "small-groups", "perfect-run", "no-adjustment",
    }  # fmt: skip


def test_animals_lost_unread_and_unhealed_are_counted():
    found = raised(audit_of("every outcome unknown"))
    assert found["losses"] == "Lost before healing was seen: 6 of 6 cases."
    assert found["take-unread"] == "Whether the graft took cannot be told in 6 of 6 free grafts."
    assert "visit-gaps" not in found
    assert "perfect-run" not in found


def test_a_target_that_was_not_set_is_neither_held_against_the_cases_nor_a_limitation():
    audit = audit_of("one animal")
    assert "rule-of-thumb" not in raised(about(audit, target_pct="none"))
    assert audit.yardsticks.target
    untargeted = about(audit, target_pct="none").protocol
    answers = Answers(audit.take, audit.healing, audit.complications, audit.donor, audit.bandages)
    assert yardsticks(answers, untargeted).target == ()


def test_competing_ends_are_told_apart_from_losses():
    found = raised(audit_of("exits of every kind"))
    assert "9 of 14 cases" in found["competing"]
    assert "1 amputated for the wound; 1 amputated, other reason" in found["competing"]
    assert found["re-grafts"].endswith("2 of 14 cases.")


def test_several_grafts_are_left_out_or_counted_as_the_unit_asks():
    name = "five grafts in one cat"
    assert raised(audit_of(name))["several-operations"].endswith(": 4 operations.")
    every = raised(audit_of(name, "every_reconstruction"))
    assert every["several-grafts-counted"] == "The 10 operations come from 6 animals."
    assert "several-operations" not in every


def test_width_of_the_intervals_between_visits():
    # Three dogs last seen open and first seen healed 9, 11 and 7 days apart.
    assert "a median of 9 days before, and 11 days at the most" in raised(audit_of("a visit on day 21"))["visit-gaps"]


def test_looks_that_trouble_prompted_are_counted_of_those_with_a_reason():
    audit = audit_of("a visit on day 21")
    assert "prompted-looks" not in raised(audit)
    (dogs,) = audit.planned_examinations
    worried = replace(dogs, examinations=(5, 2, 1, 3))
    assert raised(replace(audit, planned_examinations=(worried,)))["prompted-looks"].endswith(": 2 of 8 examinations.")


def test_perfect_run_tells_what_it_leaves_possible():
    # Wilson's lower limit without a failure is n / (n + z squared): 12 / (12 + 3.84).
    assert f"{12 / (12 + 1.959964**2):.0%}" == "76%"
    assert (
        "12 of 12 known cases in dogs (95 % interval 76 to 100 %)" in raised(audit_of("all grafts took"))["perfect-run"]
    )


def test_digit_preference_counts_between_none_and_all():
    audit = audit_of("all grafts took")

    def told(*alive: float) -> str | None:
        values = pd.DataFrame({"viable_pct": alive})
        return raised(replace(audit, take=replace(audit.take, values=values))).get("digit-preference")

    assert (
        told(0, 100, 100, 60, 70, 80, 85, 90) == "Of the percentages alive between none and all, 4 of 5 are whole tens."
    )
    assert told(100, 100, 100, 100, 100, 100) is None
    assert told(61, 73, 88, 92, 90, 45) is None


def test_protocol_frozen_before_the_load_late_or_never():
    audit = audit_of("one animal")

    def frozen(day: date) -> dict[str, str]:
        return raised(about(audit, frozen=Frozen(on=day, sha256="")))

    assert "protocol-not-frozen" in raised(audit)
    assert not {"protocol-not-frozen", "protocol-frozen-late"} & set(frozen(date(2025, 12, 31)))
    assert (
        "frozen on 2026-02-03, after the first records were loaded on 2026-01-01"
        in (frozen(date(2026, 2, 3))["protocol-frozen-late"])
    )


def test_series_chosen_for_its_outcome_says_so_and_gives_no_share():
    found = raised(about(audit_of("all grafts took"), series="outcome_selected", case_finding="theatre_list"))
    assert found["chosen-by-outcome"] == "Cases were chosen for how they ended."
    assert not {"perfect-run", "many-questions", "small-groups", "no-adjustment", "case-finding"} & set(found)


def test_hair_judged_on_few_and_by_one():
    found = raised(audit_of("clipped hair"))
    assert found["few-graded"].endswith(": hair cover in 1 of 2 cases in dogs.")
    assert "in 1 of 2 cases" in found["hair-not-judged"]
    assert {"own-scales", "no-double-grading"} <= set(found)
