"""The rows of a sheet as typed values, with every fault of every cell."""

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from openpyxl.utils import get_column_letter

from audit.dictionary import Field, Table
from audit.intake.cell_reading import DateOrder, Value
from audit.intake.cells import reader
from audit.intake.example import EXAMPLE
from audit.intake.faults import Fault, Problem, fault, masked, shown
from audit.intake.headings import Layout
from audit.intake.personal_data import personal
from audit.intake.reading import Sheet, as_text

_NOT_ALWAYS_DUE = {
    "pieces_placed", "graft_area_cm2", "viable_pct", "lost_pct", "suture_out_date", "extent_pct", "rater_code",
    "length_cm", "width_cm",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """
    One record: its row number, its data by field name, the reasons of its absent cells, and its cells as typed.

    `broken` are fields whose cell had an error; `assumed` are keys that were blank and took their default.
    """

    number: int
    layout: Layout
    data: Mapping[str, Value]
    absent: Mapping[str, str]
    typed: Mapping[str, str]
    broken: frozenset[str]
    assumed: frozenset[str]

    def place(self, problem: Problem, field: Field | None = None) -> Fault:
        """The problem in its place in this row."""
        value = shown(self.typed.get(field.name, "")) if field else ""
        return self.layout.place(problem, row=self.number, field=field, value=value)


def read_rows(layout: Layout, *, dates: DateOrder, faults: list[Fault]) -> list[Row]:
    """The records below the headings, without the example row; every fault of every cell goes to `faults`."""
    table = layout.table
    readers = {
        field.name: reader(
            field, dates=dates, comma=layout.sheet.comma, may_be_absent=not _tells_rows_apart(table, field)
        )
        for field in table.fields
        if field.name in layout.positions
    }
    rows = []
    for number, cells in layout.sheet.rows:
        if number <= layout.head_row:
            continue
        raw = {name: cells[at] for name, at in layout.positions.items() if at < len(cells) and cells[at] is not None}
        if not raw or as_text(raw.get("patient_number", "")).strip().upper() == EXAMPLE:
            continue
        rows.append(_row(layout, number, raw, readers, faults))
    faults += _blank_columns(layout, rows)
    faults += _swapped_dates(layout, rows)
    return rows


def _tells_rows_apart(table: Table, field: Field) -> bool:
    return field.must or (field.name in table.keys and (field.kind == "key" or bool(field.default)))


def _row(
    layout: Layout, number: int, raw: Mapping[str, object], readers: Mapping[str, object], faults: list[Fault]
) -> Row:
    values: dict[str, Value] = {}
    absent: dict[str, str] = {}
    broken, assumed = set(), set()
    typed = {name: as_text(value) for name, value in raw.items()}
    for field in layout.table.fields:
        reading = readers[field.name](raw.get(field.name)) if field.name in readers else None  # type: ignore[operator]
        problems = reading.problems if reading else ()
        if reading and reading.value is not None:
            values[field.name] = reading.value
        elif reading and reading.absence:
            absent[field.name] = reading.absence
        elif any(problem.severity == "error" for problem in problems):
            broken.add(field.name)
        elif field.default:
            values[field.name] = _default(field)
            assumed.add(field.name)
        elif field.must and field.name in layout.positions:
            problems = (Problem("must_not_be_blank", f"{field.heading} is blank", "Give it; no row can do without it"),)
            broken.add(field.name)
        if problems:
            value = shown(typed.get(field.name, ""))
            faults += [layout.place(problem, row=number, field=field, value=value) for problem in problems]
    return Row(number, layout, values, absent, typed, frozenset(broken), frozenset(assumed))


def _default(field: Field) -> Value:
    if field.kind == "yes_no":
        return field.default == "yes"
    return int(field.default) if field.default.isdigit() else field.default


def _blank_columns(layout: Layout, rows: list[Row]) -> Iterator[Fault]:
    """One warning for a core column with blanks, at its first: a warning for each cell would bury the rest."""
    for field in layout.table.core:
        if field.must or field.default or field.name in _NOT_ALWAYS_DUE or field.name not in layout.positions:
            continue
        blank = [
            row for row in rows if not (field.name in row.data or field.name in row.absent or field.name in row.broken)
        ]
        if blank:
            sentence = f"{field.heading} is blank in {len(blank)} of {len(rows)} rows, first in row {blank[0].number}"
            remedy = "Fill it where it is known; where it is not, write not recorded or not applicable"
            yield blank[0].place(Problem("blank", sentence, remedy, "warning"), field)


def _swapped_dates(layout: Layout, rows: list[Row]) -> Iterator[Fault]:
    """
    A spreadsheet set to another country turns 05/06 into 6 May and leaves 25/06 as text.

    So real dates that all fall on days 1 to 12, beside texts that are dates, are suspect themselves.
    """
    for field in layout.table.fields:
        if field.kind != "date":
            continue
        texts = [row for row in rows if re.search("[./]", row.typed.get(field.name, ""))]
        days = [
            value
            for row in rows
            if isinstance(value := row.data.get(field.name), dt.date) and row.typed[field.name] == value.isoformat()
        ]
        if texts and len(days) >= 3 and all(day.day <= 12 for day in days):
            sentence = (
                f"{len(texts)} dates are text, and all {len(days)} others fall on days 1 to 12: day and month may "
                "be swapped"
            )
            problem = Problem(
                "day_and_month", sentence, "Compare this column with the records and give every date as yyyy-mm-dd"
            )
            yield texts[0].place(problem, field)


def personal_data(sheet: Sheet, layout: Layout | None) -> Iterator[Fault]:
    """What looks personal in any cell of a sheet, whether its column is read or not; the value is not repeated."""
    keys, dates = set(), set()
    if layout:
        for field in layout.table.fields:
            if field.name in layout.positions:
                if field.kind in ("key", "token"):
                    keys.add(layout.positions[field.name])
                elif field.kind == "date":
                    dates.add(layout.positions[field.name])
    heads = dict(enumerate(layout.headings)) if layout else {}
    for number, cells in sheet.rows:
        for position, cell in enumerate(cells):
            if position in dates and not isinstance(cell, str):
                continue
            for problem in personal(cell, is_key=position in keys):
                yield fault(problem, sheet=sheet.name, row=number, column=heads.get(position, ""),
                            letter=get_column_letter(position + 1), value=masked(cell))  # fmt: skip
