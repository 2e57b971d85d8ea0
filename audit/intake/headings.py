"""Which sheet is which table, and which column is which field."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from openpyxl.utils import get_column_letter, range_boundaries

from audit.dictionary import REFUSED, SHEETS, TABLES, THEATRE, Field, Table
from audit.intake.faults import Fault, Problem, fault, folded, masked, nearest, shown
from audit.intake.personal_data import personal
from audit.intake.reading import Sheet, as_text

NOT_RECORDS = ("read_me", "lists", "faults")
"""Sheets of the template, and of a marked copy, that hold no records."""

_MAY_BE_MISSING = {"donor_sites", "scores"}
_HEAD_ROWS = 10


@dataclass(frozen=True, slots=True)
class Layout:
    """Where a table stands: its sheet, the row of its headings, and the position of each field found."""

    table: Table
    sheet: Sheet
    head_row: int
    positions: Mapping[str, int]
    headings: Sequence[str]
    unread: tuple[str, ...]

    def letter(self, field: Field) -> str:
        """The spreadsheet's letter of the field's column; empty where the sheet has no such column."""
        return get_column_letter(self.positions[field.name] + 1) if field.name in self.positions else ""

    def heading(self, field: Field) -> str:
        """The heading as typed, or as the template has it."""
        return self.headings[self.positions[field.name]] if field.name in self.positions else field.heading

    def place(self, problem: Problem, *, row: int | None = None, field: Field | None = None, value: str = "") -> Fault:
        """The problem in its place on this sheet."""
        column, letter = (self.heading(field), self.letter(field)) if field else ("", "")
        return fault(problem, sheet=self.sheet.name, row=row, column=column, letter=letter, value=value)


def stored_name(heading: object) -> str:
    """
    A heading as a stored name.

    >>> stored_name("Viable %")
    'viable_pct'
    """
    text = folded(as_text(heading).replace("%", " pct ").replace("²", "2"))
    return re.sub(r"\W+", "_", text).strip("_")


def match_sheets(sheets: Sequence[Sheet], faults: list[Fault]) -> list[tuple[Table, Sheet]]:
    """The tables that have a sheet, parents first; what is wrong with the others goes to `faults`."""
    by_name = {name: table for table in SHEETS for name in (folded(table.title), table.name)}
    sheet_of: dict[str, tuple[Table, Sheet]] = {}
    strangers = []
    for sheet in sheets:
        table = by_name.get(folded(sheet.name))
        if table is None:
            strangers.append(sheet)
        elif table.name in sheet_of:
            problem = Problem(
                "sheet_twice", f"there are several sheets for {table.title}", "Put their rows on one sheet"
            )
            faults.append(fault(problem, sheet=sheet.name))
        elif sheet.rows or table.name not in (*_MAY_BE_MISSING, THEATRE.name):
            sheet_of[table.name] = (table, sheet)
    missing = [table for table in TABLES if table.name not in sheet_of]
    faults += _strangers(strangers, missing)
    faults += _missing(missing)
    return [sheet_of[table.name] for table in SHEETS if table.name in sheet_of]


def _strangers(sheets: Sequence[Sheet], missing: Sequence[Table]) -> Iterator[Fault]:
    for sheet in sheets:
        if folded(sheet.name) in NOT_RECORDS or not sheet.rows:
            continue
        close = nearest(sheet.name, [table.title for table in missing])
        if close:
            remedy = f"Rename it if it is {' or '.join(close)}"
            problem = Problem("sheet_name", f"the sheet {shown(sheet.name)!r} is not read", remedy, "warning")
        else:
            problem = Problem("sheet_not_read", f"the sheet {shown(sheet.name)!r} is not read",
                              "Nothing to do if it holds no records", "warning")  # fmt: skip
        yield fault(problem, sheet=sheet.name)


def _missing(tables: Sequence[Table]) -> Iterator[Fault]:
    for table in tables:
        remedy = f"Add a sheet called {table.title}; with headings and no rows it says that there were none"
        severity = "warning" if table.name in _MAY_BE_MISSING else "error"
        problem = Problem("sheet_missing", f"there is no sheet called {table.title}", remedy, severity)  # type: ignore[arg-type]
        yield fault(problem, sheet=table.title)


def match_columns(table: Table, sheet: Sheet, faults: list[Fault]) -> Layout | None:
    """Where each field of the table stands on the sheet; None when the sheet shows no headings."""
    names = _names(table)
    head_row, cells = max(
        sheet.rows[:_HEAD_ROWS], key=lambda row: sum(stored_name(cell) in names for cell in row[1]), default=(0, ())
    )
    if not any(stored_name(cell) in names for cell in cells):
        remedy = f"Put the headings of the template in row 1, beginning with {table.fields[0].heading}"
        no_headings = Problem("no_headings", "no row with the headings of this table was found", remedy)
        faults.append(fault(no_headings, sheet=sheet.name))
        return None
    positions: dict[str, int] = {}
    unread = []
    for position, cell in enumerate(cells):
        if cell is None:
            continue
        field = names.get(stored_name(cell))
        problem = None
        if field is None:
            problem = _unknown_heading(cell, table, positions)
            unread.append(_repeatable(cell))
        elif field.name in positions:
            problem = Problem(
                "heading_twice", f"there is more than one column for {field.heading!r}", "Keep one of them"
            )
        else:
            positions[field.name] = position
        if problem:
            faults.append(fault(problem, sheet=sheet.name, row=head_row, column=_repeatable(cell),
                                letter=get_column_letter(position + 1), value=shown(cell)))  # fmt: skip
    layout = Layout(table, sheet, head_row, positions, [_repeatable(cell) for cell in cells], tuple(unread))
    faults += _columns_missing(layout)
    faults += _merged(layout)
    return layout


def _repeatable(heading: object) -> str:
    """The heading as messages name it: masked where it holds personal data itself."""
    return masked(heading) if any(personal(heading)) else as_text(heading)


def _names(table: Table) -> dict[str, Field]:
    terms = {stored_name(field.term): field for field in table.fields}
    return terms | {stored_name(field.heading): field for field in table.fields} | {f.name: f for f in table.fields}


def _unknown_heading(cell: object, table: Table, positions: Mapping[str, int]) -> Problem:
    words = f"_{stored_name(cell)}_"
    for key, what in {**REFUSED, "name": "name"}.items():
        if f"_{key}_" in words:
            return Problem("identifying_heading", f"the heading {shown(cell)!r} asks for personal data ({what})",
                           "Delete the whole column; nothing here needs it")  # fmt: skip
    close = nearest(as_text(cell), [field.heading for field in table.fields if field.name not in positions])
    remedy = f"Rename it if it is {' or '.join(close)}; otherwise nothing to do" if close else "Nothing to do"
    return Problem("heading_unknown", f"the column {shown(cell)!r} is not read", remedy, "warning")


def _columns_missing(layout: Layout) -> Iterator[Fault]:
    for field in layout.table.core:
        if field.name in layout.positions or field.default:
            continue
        if field.must:
            problem = Problem(
                "column_missing", f"there is no column {field.heading!r}", "Add it; no row can do without it"
            )
        else:
            problem = Problem("column_missing", f"there is no column {field.heading!r}; it counts as blank throughout",
                              "Add it if it is known", "warning")  # fmt: skip
        yield fault(problem, sheet=layout.sheet.name, row=layout.head_row, column=field.heading)


def _merged(layout: Layout) -> Iterator[Fault]:
    last = layout.sheet.rows[-1][0]
    for area in layout.sheet.merged:
        left, top, _, _ = range_boundaries(area)
        if layout.head_row <= (top or 0) <= last:
            problem = Problem("merged_cells", f"the cells {area} are merged; only the first of them holds a value",
                              "Unmerge them and fill each cell")  # fmt: skip
            yield fault(problem, sheet=layout.sheet.name, row=top, letter=get_column_letter(left or 1))
