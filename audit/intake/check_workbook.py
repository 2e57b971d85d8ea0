"""Read a workbook, find every fault at once, and let in only what is de-identified."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import pandas as pd

from audit.intake import checks
from audit.intake.cell_reading import DateOrder
from audit.intake.deidentify import Codes, calendar, case_of, check_days, deidentified, fingerprint
from audit.intake.faults import Fault, Problem, fault, masked
from audit.intake.headings import match_columns, match_sheets
from audit.intake.reading import Sheet, read_sheets
from audit.intake.rows import Row, personal_data, read_rows


@dataclass(frozen=True, slots=True, eq=False)
class Intake:
    """
    A checked workbook.

    `faults` in the order of the sheets, `tables` the de-identified frames by table name (empty when there is an error),
    `fingerprint` a hash of what they say, `unread` the columns that were not read as 'sheet: heading'. `links` pairs
    each animal's code with its patient number and `surgery` gives the day of each operation by case code: both are
    for the screen of this practice, and are never stored.
    """

    faults: tuple[Fault, ...]
    tables: Mapping[str, pd.DataFrame]
    fingerprint: str
    unread: tuple[str, ...] = ()
    links: tuple[tuple[str, str], ...] = field(default=(), repr=False)
    surgery: Mapping[str, date] = field(default_factory=dict, repr=False)

    @property
    def errors(self) -> tuple[Fault, ...]:
        """The faults that keep the workbook out."""
        return tuple(each for each in self.faults if each.severity == "error")

    @property
    def warnings(self) -> tuple[Fault, ...]:
        """The faults that do not."""
        return tuple(each for each in self.faults if each.severity == "warning")


def check_workbook(path: Path, *, key: bytes, dates: DateOrder = "iso") -> Intake:
    """
    Read and check a workbook, or a folder of CSV files, and de-identify it.

    `dates` says in which order this practice types dates as text. Raises WorkbookError when the file cannot be read
    at all; whatever else is wrong is in the faults.
    """
    sheets = read_sheets(path)
    faults: list[Fault] = []
    private: list[Fault] = []
    rows: dict[str, Sequence[Row]] = {}
    unread: list[str] = []
    layouts = {}
    for table, sheet in match_sheets(sheets, faults):
        layout = match_columns(table, sheet, faults)
        if layout is None:
            continue
        layouts[sheet.name] = layout
        rows[table.name] = read_rows(layout, dates=dates, faults=faults)
        unread += [f"{sheet.name}: {heading}" for heading in layout.unread]
    for sheet in sheets:
        private += personal_data(sheet, layouts.get(sheet.name))
    if not any(rows.get(name) for name in ("animals", "reconstructions")) and not faults:
        problem = Problem("no_rows", "the workbook holds no records", "Fill the sheets below the example rows")
        faults.append(fault(problem))

    when = calendar(rows)
    codes = Codes(key)
    faults += check_days(rows, when)
    frames = deidentified(rows, when, codes)
    faults += _collisions(codes)
    broken = {(each.sheet, each.cell) for each in faults if each.cell}
    faults += [each for each in checks.run(rows, frames, when, codes) if (each.sheet, each.cell) not in broken]
    faults = _in_order(_discreet(faults, private), sheets)

    if any(each.severity == "error" for each in faults):
        frames = {}
    tables = {name: frame.drop(columns="row_number") for name, frame in frames.items()}
    surgery = {f"{codes('animal', case[0])}-{case[1]}{case[2]}": day for case, day in when.surgery.items()}
    return Intake(tuple(faults), tables, fingerprint(tables), tuple(unread), _links(rows, codes), surgery)


def _links(rows: Mapping[str, Sequence[Row]], codes: Codes) -> tuple[tuple[str, str], ...]:
    """Each animal's code with its number as the sheet of animals spells it."""
    numbers = [row.data["patient_number"] for row in rows.get("animals", ()) if case_of(row)]
    return tuple(sorted((codes("animal", str(number)), str(number)) for number in numbers))


def _collisions(codes: Codes) -> Iterable[Fault]:
    for _ in sorted(codes.collided):
        yield fault(Problem("pseudonym_twice", "two different numbers or codes were given the same pseudonym",
                            "Nothing was stored; ask for help, since a new key would change every code"))  # fmt: skip


def _discreet(faults: list[Fault], private: list[Fault]) -> list[Fault]:
    """All faults, where a cell with personal data is not quoted by another fault of the same cell."""
    hidden = {(each.sheet, each.cell): each for each in private}
    kept = []
    for each in faults:
        found = hidden.get((each.sheet, each.cell)) if each.cell else None
        if found is None or not each.value:
            kept.append(each)
        elif found.severity == "warning":
            value = masked(each.value)
            kept.append(
                replace(each, value=value, sentence=each.sentence.replace(each.value, value), remedy="Mend the cell")
            )
    return kept + private


def _in_order(faults: list[Fault], sheets: Sequence[Sheet]) -> list[Fault]:
    places = {sheet.name: place for place, sheet in enumerate(sheets, start=1)}
    return sorted(
        dict.fromkeys(faults),
        key=lambda each: (places.get(each.sheet, 0), each.row or 0, len(each.cell), each.cell, each.check),
    )
