"""
What the program writes, in one folder, to be held against the same folder made by other code: see compare_outputs.

    python -m tests.benchmarks.outputs INTO [--only demo,edge,words]

The demonstration's workbook with its faults, its report and its write-up, and of every hand-made edge case the report
and the manuscript in words and tables. Days, key and codes are fixed, so that the same code writes the same bytes.
"""

import argparse
from dataclasses import asdict
from datetime import date
from pathlib import Path

from audit.analyses.run import run_audit
from audit.cases import Cases
from audit.errors import AuditError
from audit.intake.check_workbook import Intake, check_workbook
from audit.intake.codebook import as_csv, code_rows, field_rows
from audit.intake.marked import write_marked
from audit.protocol import Protocol, freeze, read_protocol
from audit.store import Store, open_store
from reports.audit_report import audit_report, write_report
from reports.demo import demo_protocol
from reports.document import Figure, Report, Table
from reports.formats.csv_tables import write_csv
from reports.prose import Ask, Fact, Heading, Inline, Manuscript, Paragraph, See
from reports.write_up.evidence import evidence
from reports.write_up.folder import write_up
from reports.write_up.manuscript import manuscript
from reports.write_up.respelled import tied
from synthetic_data.demo import demo_practice, with_faults
from synthetic_data.edge_cases import NAMES, edge_case
from synthetic_data.practice import Practice
from synthetic_data.workbook import write_workbook

ON = date(2026, 1, 15)
KEY = bytes(range(32))


def write_demo(into: Path) -> None:
    """The demonstration: faults and their marked copy, the codebook, the report and the write-up."""
    (into / "demo").mkdir(parents=True)
    draft = into / "demo" / "protocol.toml"
    draft.write_text(demo_protocol(), "utf-8")
    protocol = freeze(draft, into / "demo" / "protocol.frozen.toml", ON)
    faulty = into / "demo" / "practice-with-faults.xlsx"
    slips = _checked(with_faults(demo_practice()), faulty)
    (into / "demo" / "faults.txt").write_text("\n".join(f"{asdict(fault)}" for fault in slips.faults), "utf-8")
    write_marked(faulty, slips.faults, into / "demo" / "practice-with-faults-marked.xlsx")
    for name, rows in (("fields", field_rows()), ("codes", code_rows())):
        (into / "demo" / f"{name}.csv").write_text(as_csv(rows), "utf-8", newline="")
    intake = _checked(demo_practice(), into / "demo" / "practice.xlsx")
    with _loaded(intake, ON) as store:
        write_report(store.under(protocol), into / "demo" / "report", invented=True)
        write_up(store.under(protocol), into / "demo" / "write-up")


def write_words(practice: Practice, protocol: Protocol, into: Path) -> None:
    """Report and manuscript of a practice in words and tables, without drawing."""
    into.mkdir(parents=True)
    intake = _checked(practice, into / "practice.xlsx")
    with _loaded(intake, date(2026, 1, 1)) as store:
        cases = store.under(protocol)
        _write_report_words(audit_report(run_audit(cases)), into / "report")
        _write_manuscript_words(cases, into / "manuscript")


def _checked(practice: Practice, path: Path) -> Intake:
    write_workbook(practice, path)
    return check_workbook(path, key=KEY)


def _loaded(intake: Intake, on: date) -> Store:
    store = open_store(":memory:", create=True)
    store.load(intake.tables, fingerprint=intake.fingerprint, on=on)
    return store


def _write_report_words(report: Report, folder: Path) -> None:
    folder.mkdir()
    lines = [report.title, report.subtitle, *report.headlines]
    lines += [f"{label}: {value}" for label, value in report.provenance]
    for section in (*report.sections, *report.definitions):
        lines += [f"# {section.title} {section.question}", *section.sentences, *section.remarks]
        for figure in section.figures:
            lines += [f"figure {figure.id}: {figure.title}", figure.caption, figure.description]
        for table in section.tables:
            lines += [f"table {table.id}: {table.title}", *table.notes]
            write_csv(table, folder)
        for ledger in section.ledgers:
            lines += [f"cases {ledger.title}", *(f"{head}: {', '.join(codes)}" for head, codes in ledger.groups)]
    (folder / "report.txt").write_text("\n".join(lines), "utf-8")


def _write_manuscript_words(cases: Cases, folder: Path) -> None:
    folder.mkdir()
    try:
        paper = tied(manuscript(evidence(cases)))
    except AuditError as error:
        (folder / "manuscript.txt").write_text(f"refused: {error}", "utf-8")
        return
    for table in paper.tables:
        write_csv(table, folder)
    (folder / "manuscript.txt").write_text("\n".join(_lines(paper)), "utf-8")


def _lines(paper: Manuscript) -> list[str]:
    lines = [paper.title]
    for block in paper.blocks:
        if isinstance(block, Heading):
            lines.append(f"# {block.text}")
        elif isinstance(block, Paragraph):
            lines.append("".join(_words(part, paper) for part in block.parts))
        elif isinstance(block, Table):
            lines += [f"{paper.labels[block.id]}: {block.title}", *block.notes]
        elif isinstance(block, Figure):
            lines += [f"{paper.labels[block.id]}: {block.title}", block.caption, block.description]
    return lines + [reference.full for reference in paper.references]


def _words(part: Inline, paper: Manuscript) -> str:
    """A part of a paragraph as it is read; a fact with its identifier, by which a later run finds it."""
    if isinstance(part, Fact):
        return f"{{{part.id}: {part.text}}}"
    if isinstance(part, Ask):
        return f"[Author: {part.text}]"
    if isinstance(part, See):
        return paper.labels[part.target]
    return part if isinstance(part, str) else paper.reference(part.key).short


def main() -> None:
    """The folder must not exist."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("into", type=Path)
    words.add_argument("--only", default="demo,edge", help="demo, edge, words (the demo undrawn), with commas between")
    given = words.parse_args()
    parts = given.only.split(",")
    given.into.mkdir(parents=True)
    if "demo" in parts:
        write_demo(given.into)
    if "words" in parts:
        draft = given.into / "protocol.toml"
        draft.write_text(demo_protocol(), "utf-8")
        write_words(demo_practice(), read_protocol(draft), given.into / "words")
    if "edge" in parts:
        for name in NAMES:
            write_words(edge_case(name), read_protocol(), given.into / "edge-cases" / name.replace(" ", "-"))


if __name__ == "__main__":
    main()
