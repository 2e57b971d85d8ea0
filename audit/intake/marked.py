"""The practice's own workbook back, with every faulty cell marked and a list that leads to each."""

import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook, load_workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.properties import PageSetupProperties

from audit.errors import WorkbookError
from audit.intake.faults import Fault
from audit.intake.file_safety import look
from audit.intake.reading import as_text, read_sheets

LISTED = "Faults"
_HEADINGS = ("Severity", "Sheet", "Row", "Column", "Cell", "What is wrong", "What to do", "Value")
_WIDTHS = (11, 18, 7, 22, 8, 70, 60, 26)
_FILLS = {"error": PatternFill("solid", fgColor="F4B6A6"), "warning": PatternFill("solid", fgColor="FBE7A1")}
_HEAD = PatternFill("solid", fgColor="24506B")
_FONT = "Calibri"
_BY = "check"


def write_marked(path: Path, faults: Sequence[Fault], into: Path) -> None:
    """
    Write a copy of the workbook (or folder of CSV files) with a first sheet that lists the faults.

    Faulty cells are filled (errors and warnings unlike) and carry a note. Raises WorkbookError when `into` is the
    workbook itself, which is never written over, or cannot be written.
    """
    if into.resolve() == path.resolve():
        raise WorkbookError(f"{into} is the workbook itself; give the marked copy another name")
    book = _from_csv(path) if path.is_dir() else _opened(path)
    if LISTED in book.sheetnames:
        del book[LISTED]
    _list(book, faults)
    _mark(book, faults)
    book.active = 0
    for sheet in book.worksheets:
        sheet.sheet_view.tabSelected = sheet.title == LISTED
    try:
        book.save(into)
    except OSError as error:
        raise WorkbookError(f"{into} cannot be written ({error.strerror}); close it in other programs") from None


def _opened(path: Path) -> Any:
    look(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # openpyxl warns of features that it drops
        return load_workbook(path)


def _from_csv(folder: Path) -> Any:
    book = Workbook()
    book.remove(book.worksheets[0])
    for sheet in read_sheets(folder):
        copy = book.create_sheet(sheet.name[:31])
        for number, cells in sheet.rows:
            for column, value in enumerate(cells, start=1):
                if value is not None:
                    _put(copy.cell(number, column), as_text(value))
    return book


def _put(cell: Any, text: object) -> None:
    """Write a text as text: openpyxl would take one that starts with = for a formula."""
    cell.value = text
    if isinstance(text, str):
        cell.data_type = "s"


def _list(book: Any, faults: Sequence[Fault]) -> None:
    sheet = book.create_sheet(LISTED, 0)
    errors = sum(fault.severity == "error" for fault in faults)
    warned = len(faults) - errors
    sheet["A1"] = (
        f"{errors} errors (they keep the file out) and {warned} warnings. Mend them in the original, not in this copy."
    )
    sheet["A1"].font = Font(name=_FONT, bold=True)
    for column, (heading, width) in enumerate(zip(_HEADINGS, _WIDTHS, strict=True), start=1):
        cell = sheet.cell(3, column, heading)
        cell.font, cell.fill = Font(name=_FONT, bold=True, color="FFFFFF"), _HEAD
        sheet.column_dimensions[cell.column_letter].width = width
    for row, fault in enumerate(faults, start=4):
        entries = (
            fault.severity,
            fault.sheet,
            fault.row,
            fault.column,
            fault.cell,
            fault.sentence,
            fault.remedy,
            fault.value,
        )
        for column, value in enumerate(entries, start=1):
            cell = sheet.cell(row, column)
            _put(cell, value)
            cell.font = Font(name=_FONT)
            cell.alignment = Alignment(wrap_text=True, vertical="top", horizontal="left")
        sheet.cell(row, 1).fill = _FILLS[fault.severity]
        if fault.sheet in book.sheetnames:
            place = fault.sheet.replace("'", "''")
            link = sheet.cell(row, 5)
            _put(link, fault.cell or "go there")
            link.hyperlink = Hyperlink(
                ref=link.coordinate, location=f"'{place}'!{fault.cell or 'A1'}", display=fault.cell
            )
            link.font = Font(name=_FONT, color="1B5E8A", underline="single")
    sheet.freeze_panes = "A4"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _mark(book: Any, faults: Sequence[Fault]) -> None:
    noted: dict[tuple[str, str], list[Fault]] = {}
    for fault in faults:
        if fault.cell and fault.sheet in book.sheetnames:
            noted.setdefault((fault.sheet, fault.cell), []).append(fault)
    for (sheet, place), faults_here in noted.items():
        cell = book[sheet][place]
        severity = "error" if any(fault.severity == "error" for fault in faults_here) else "warning"
        cell.fill = _FILLS[severity]
        note = "\n\n".join(f"{fault.severity.upper()}: {fault.sentence}. {fault.remedy}." for fault in faults_here)
        before = f"\n\n{cell.comment.text}" if cell.comment and cell.comment.author != _BY else ""
        cell.comment = Comment(note + before, _BY, height=160, width=320)
