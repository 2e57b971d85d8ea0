"""From a file to sheets of cells: an .xlsx workbook, or a folder of CSV files with one file a sheet."""

import csv
import datetime as dt
import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any, Literal

from openpyxl import load_workbook

from audit.errors import WorkbookError
from audit.intake.file_safety import LARGEST_UNPACKED, LAST_COLUMN, LAST_ROW, look


@dataclass(frozen=True, slots=True)
class Odd:
    """A cell whose content is no plain value: an error of the spreadsheet, a formula never worked out, a percentage."""

    text: str
    why: Literal["error", "formula", "percentage"]

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class Sheet:
    """
    One sheet: (row number, cells) of each row that holds anything.

    `merged` are ranges like `A1:C1`. `comma` is true where numbers have a decimal comma.
    """

    name: str
    rows: tuple[tuple[int, tuple[object, ...]], ...]
    merged: tuple[str, ...] = ()
    comma: bool = False


def read_sheets(path: Path) -> tuple[Sheet, ...]:
    """
    Every sheet of a workbook, or every .csv of a folder, as typed.

    Raises WorkbookError in one sentence when the file cannot be read.
    """
    return tuple(_csv_sheets(path)) if path.is_dir() else tuple(_workbook_sheets(path))


def _workbook_sheets(path: Path) -> Iterator[Sheet]:
    seen = look(path)
    try:
        values = _pass(path, data_only=True)
        formulas = _pass(path, data_only=False) if seen.has_formulas else {}
    except Exception as error:  # openpyxl raises whatever the damaged part leads to; the user needs one sentence
        raise WorkbookError(
            f"{path} cannot be read ({type(error).__name__}); save it again as an Excel workbook (.xlsx)"
        ) from None
    for name, rows in values.items():
        typed = formulas.get(name, {})
        settled = {n: _unsettled(rows.get(n, ()), typed.get(n, ())) for n in sorted(rows.keys() | typed.keys())}
        yield Sheet(name, tuple(settled.items()), seen.merged.get(name, ()))


def _pass(path: Path, *, data_only: bool) -> dict[str, dict[int, tuple[object, ...]]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # openpyxl warns of features that it drops; nothing here needs them
        book = load_workbook(path, read_only=True, data_only=data_only)
        try:
            return {sheet.title: dict(_rows(sheet)) for sheet in book.worksheets}
        finally:
            book.close()


def _rows(sheet: Any) -> Iterator[tuple[int, tuple[object, ...]]]:
    sheet.reset_dimensions()  # the stated size is the file's own word, and rows would be filled up to it
    for number, row in enumerate(sheet.iter_rows(), start=1):
        cells = tuple(_plain(cell) for cell in row)
        if any(cell is not None for cell in cells):
            yield number, cells


def _plain(cell: Any) -> object:
    value = cell.value
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    if cell.data_type == "e":
        return Odd(str(value), "error")
    if cell.data_type == "f":
        return Odd(str(getattr(value, "text", value)), "formula")
    if isinstance(value, int | float) and not isinstance(value, bool):
        if "%" in cell.number_format:
            return Odd(f"{value * 100:.10g} %", "percentage")
        if isinstance(value, int) and re.fullmatch("0{2,}", cell.number_format):
            return f"{value:0{len(cell.number_format)}d}"  # the zeros that the user sees
    return value


def _unsettled(values: tuple[object, ...], formulas: tuple[object, ...]) -> tuple[object, ...]:
    """The values, with a formula left where it never got one."""
    return tuple(
        formula if value is None and isinstance(formula, Odd) and formula.why == "formula" else value
        for value, formula in zip_longest(values, formulas)
    )


def _csv_sheets(folder: Path) -> Iterator[Sheet]:
    files = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".csv")
    if not files:
        raise WorkbookError(f"no .csv file in {folder}; put one file a sheet there, named as the sheet (visits.csv)")
    for path in files:
        yield _csv_sheet(path)


def _csv_sheet(path: Path) -> Sheet:
    if path.stat().st_size > LARGEST_UNPACKED:
        raise WorkbookError(f"{path} is larger than {LARGEST_UNPACKED / 1e6:.0f} MB; leave out what is no record")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise WorkbookError(f"{path} is not UTF-8 text; save it as 'CSV UTF-8'") from None
    head = text.partition("\n")[0]
    semicolon = head.count(";") > head.count(",")
    rows = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=";" if semicolon else ",", strict=True)
    try:
        for number, cells in enumerate(reader, start=1):
            if number > LAST_ROW or len(cells) > LAST_COLUMN:
                raise WorkbookError(f"{path}, row {number}: far beyond any record; leave out what is no record")
            if any(cell.strip() for cell in cells):
                rows.append((number, tuple(cell if cell.strip() else None for cell in cells)))
    except csv.Error as error:
        raise WorkbookError(f"{path}, line {reader.line_num}: {error}; mend the quotation marks there") from None
    return Sheet(path.stem, tuple(rows), comma=semicolon)


def as_text(value: object) -> str:
    """The raw value as a person would read it in the sheet."""
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat(sep=" ")
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return "" if value is None else str(value)
