"""The invented practice from workbook to report, in one folder."""

from datetime import date
from pathlib import Path

from audit.errors import AuditError
from audit.intake.admission import check_workbook
from audit.intake.identity import read_or_make_key
from audit.intake.marked import write_marked
from audit.protocol import default_text, freeze
from audit.store import open_store
from reports.audit_report import write_report
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
    practice = demo_practice()
    workbook, faulty = folder / "practice.xlsx", folder / "practice-with-faults.xlsx"
    write_workbook(practice, workbook)
    write_workbook(with_faults(practice), faulty)
    key = read_or_make_key(folder / "practice.key")
    write_marked(faulty, check_workbook(faulty, key=key).faults, folder / "practice-with-faults-marked.xlsx")
    draft = folder / "protocol.toml"
    draft.write_text(default_text(), "utf-8")
    protocol = freeze(draft, folder / "protocol.frozen.toml", on)
    intake = check_workbook(workbook, key=key)
    with open_store(folder / "practice.duckdb", create=True) as store:
        store.load(intake.tables, fingerprint=intake.fingerprint, on=on)
        return write_report(store, protocol, folder / "report", invented=True)
