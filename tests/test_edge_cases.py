"""Every hand-made edge case goes the whole way from workbook to document: no crash, no NaN, and the counts add up."""

from datetime import date

import pytest

from audit.analyses.run import run_audit
from audit.intake.check_workbook import check_workbook
from audit.protocol import read_protocol
from audit.store import open_store
from reports.audit_report import audit_report
from synthetic_data.edge_cases import NAMES, edge_case
from synthetic_data.workbook import write_workbook


def reported(name, tmp_path):
    practice = edge_case(name)
    write_workbook(practice, tmp_path / "practice.xlsx")
    intake = check_workbook(tmp_path / "practice.xlsx", key=bytes(32))
    assert not intake.errors
    with open_store(":memory:", create=True) as store:
        store.load(intake.tables, fingerprint=intake.fingerprint, on=date(2026, 1, 1))
        audit = run_audit(store.under(read_protocol()))
    return practice, audit, audit_report(audit)


@pytest.mark.parametrize("name", NAMES)
def test_edge_case_is_reported_plainly(name, tmp_path):
    practice, audit, report = reported(name, tmp_path)

    words = [*report.headlines]
    for section in (*report.sections, *report.definitions):
        words += [*section.sentences, *section.remarks]
        words += [cell for table in section.tables for row in table.rows for cell in row]
        words += [figure.caption + figure.description for figure in section.figures]
    broken = [text for text in words if {"nan", "None", "inf", "NaT", "<NA>"} & set(text.replace("(", " ").split())]
    assert not broken

    last = audit.flow.stages[-1].cases
    left_out = sum(len(codes) for stage in audit.flow.stages for _, codes in stage.left_out)
    assert len(last) + left_out == len(practice.rows["reconstructions"])
    healing = [group for curve in (*audit.healing.overall, *audit.healing.by_method) for _, group, _ in curve.shares]
    for group in (*audit.take.overall, *(g for _, groups in audit.complications.overall for g in groups), *healing):
        assert set(group.cases.sure_yes) | set(group.cases.sure_no) | set(group.cases.cannot_tell) <= set(last)
