"""The invented practice from workbook to report, in one folder."""

from datetime import date
from pathlib import Path

from audit.errors import AuditError
from audit.intake.check_workbook import check_workbook
from audit.intake.identity import read_or_make_key
from audit.intake.marked import write_marked
from audit.protocol import default_text, freeze
from audit.store import open_store
from reports.audit_report import write_report
from reports.drawing.draw import start_helper
from synthetic_data.demo import demo_practice, with_faults
from synthetic_data.workbook import write_workbook


def run_demo(folder: Path, *, on: date) -> Path:
    """
    Write workbook, marked faulty copy, protocol, key, store and report into a new folder; return the page.

    Raises AuditError when the folder exists and holds anything.
    """
    if folder.exists() and any(folder.iterdir()):
        raise AuditError(f"{folder} exists and is not empty; name another folder, or remove it first")
    folder.mkdir(parents=True, exist_ok=True)
    key = read_or_make_key(folder / "practice.key")
    with start_helper() as helper:
        faulty = helper.submit(_write_faulty, folder, key)
        write_workbook(demo_practice(), folder / "practice.xlsx")
        draft = folder / "protocol.toml"
        draft.write_text(demo_protocol(), "utf-8")
        protocol = freeze(draft, folder / "protocol.frozen.toml", on)
        intake = check_workbook(folder / "practice.xlsx", key=key)
        with open_store(folder / "practice.duckdb", create=True) as store:
            store.load(intake.tables, fingerprint=intake.fingerprint, on=on)
            with store.under(protocol) as cases:
                page = write_report(cases, folder / "report", invented=True, helper=helper)
        faulty.result()
    return page


def demo_protocol() -> str:
    """The shipped protocol with the name and the years of the invented practice."""
    text = default_text()
    for old, new in (
        ('name = "Grafts and flaps, first audit"', 'name = "Grafts and flaps at Ostrel Hill (invented), first audit"'),
        ('start = "2000-01"', 'start = "2022-01"'),
        ('end = "2099-12"', 'end = "2025-06"'),
        ("data_lock = 2099-12-31", "data_lock = 2026-06-30"),
    ):
        assert old in text
        text = text.replace(old, new)
    return text


def _write_faulty(folder: Path, key: bytes) -> None:
    """The same workbook with honest slips in it, and its copy with the faults marked."""
    workbook = folder / "practice-with-faults.xlsx"
    write_workbook(with_faults(demo_practice()), workbook)
    write_marked(workbook, check_workbook(workbook, key=key).faults, folder / "practice-with-faults-marked.xlsx")
