"""The write-up as files: manuscript, figures, tables, reporting-guide table, and what changed since last time."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from audit.cases import Cases
from audit.errors import AuditError
from reports.drawing.draw import start_helper
from reports.drawing.journal_figures import write_journal_figures
from reports.drawing.talk_figures import write_talk_figures
from reports.formats.csv_tables import to_csv, write_csv
from reports.formats.to_pdf import manuscript_pdf
from reports.formats.to_xlsx import to_xlsx
from reports.prose import Heading, Manuscript
from reports.spelling import american, british
from reports.word.refresh import Change, RefreshError, check_ours, refresh
from reports.word.to_docx import to_docx
from reports.write_up.case_table import numbered
from reports.write_up.evidence import Evidence, evidence
from reports.write_up.manuscript import manuscript
from reports.write_up.respelled import tied

NAME = "manuscript.docx"
GUIDE = "reporting-guide"


def write_up(
    cases: Cases,
    into: Path,
    *,
    spelling: Literal["british", "american"] = "british",
) -> tuple[Path, tuple[Change, ...]]:
    """
    Write the manuscript and all that goes with it into the folder; return the manuscript and what changed in it.

    A manuscript that is there already keeps every word of the author: its marked blocks are renewed, and the file as
    it was is kept beside it. Raises AuditError when it is no manuscript of ours, or open in another program.
    """
    before = _author_file(into / NAME)
    with start_helper() as drawer:
        basis = evidence(cases)
        paper = tied(manuscript(basis, spelling))
        for name in ("figures", "tables", "talk"):
            (into / name).mkdir(parents=True, exist_ok=True)
        respell = american if spelling == "american" else british
        write_journal_figures(paper.figures, into / "figures", respell=respell, helper=drawer)
        write_talk_figures(paper.figures, into / "talk", respell=respell, helper=drawer)
    wide = {figure.id: into / "figures" / f"{figure.id}-175mm" for figure in paper.figures}
    pictures = {name: path.with_name(f"{path.name}-300dpi.png").read_bytes() for name, path in wide.items()}
    drawings = {name: path.with_suffix(".svg").read_text("utf-8") for name, path in wide.items()}
    (into / "manuscript.pdf").write_bytes(manuscript_pdf(paper, drawings))
    _write_tables(paper, basis, into)
    return into / NAME, _write_manuscript(paper, pictures, into, before)


def _write_tables(paper: Manuscript, evidence: Evidence, into: Path) -> None:
    listed = [table for table in paper.tables if table.id != GUIDE]
    for table in listed:
        write_csv(table, into / "tables")
    (into / "tables.xlsx").write_bytes(to_xlsx(listed))
    guide = next(table for table in paper.tables if table.id == GUIDE)
    (into / f"{GUIDE}.csv").write_bytes(to_csv(guide))
    alone = Manuscript(guide.title, (Heading(guide.title), guide), (), paper.spelling)
    (into / f"{GUIDE}.docx").write_bytes(to_docx(alone, {}))
    (into / "case-numbers.csv").write_text(
        _csv(
            [("case in the paper", "case code"), *((name, line.case_code) for name, line in numbered(evidence.lines))]
        ),
        "utf-8",
        newline="",
    )


def _author_file(path: Path) -> bytes | None:
    """The manuscript that is there already; refused at once when it is none of ours, before anything is drawn."""
    if not path.exists():
        return None
    existing = path.read_bytes()
    try:
        check_ours(existing)
    except RefreshError as error:
        raise AuditError(f"{path}: {error}") from None
    return existing


def _write_manuscript(
    paper: Manuscript, pictures: dict[str, bytes], into: Path, before: bytes | None
) -> tuple[Change, ...]:
    path = into / NAME
    if before is None:
        path.write_bytes(to_docx(paper, pictures))
        return ()
    after, changes = refresh(before, paper, pictures)
    try:
        _free(into / "manuscript-before.docx").write_bytes(before)
        path.write_bytes(after)
    except PermissionError:
        raise AuditError(f"{path} is open in another program; close it there and run write-up again") from None
    rows = [("what", "where", "old", "new"), *((c.kind, c.where, c.old, c.new) for c in changes)]
    (into / "changes.csv").write_text("\ufeff" + _csv(rows), "utf-8", newline="")
    return changes


def _free(path: Path) -> Path:
    """The path, or the first numbered one beside it that is free: no earlier copy is written over."""
    number = 1
    free = path
    while free.exists():
        number += 1
        free = path.with_stem(f"{path.stem}-{number}")
    return free


def _csv(rows: Sequence[tuple[str, ...]]) -> str:
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue()
