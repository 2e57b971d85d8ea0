"""Where identity stops: names become pseudonyms and dates become days from surgery."""

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from audit.dictionary import DERIVED, TABLES, Field, Table
from audit.intake.faults import Fault, Problem
from audit.intake.identity import Whose, pseudonym, same
from audit.intake.numbers import ranged
from audit.intake.rows import Row

Rows = Mapping[str, Sequence[Row]]
Case = tuple[str, str, int]

_DTYPES = {"whole": "Int64", "day": "Int64", "number": "Float64", "yes_no": "boolean"}


@dataclass(slots=True)
class Codes:
    """The pseudonyms given out in one check, each with what it stands for; kept in memory only."""

    key: bytes
    given: dict[tuple[str, str], str] = field(default_factory=dict)
    collided: set[str] = field(default_factory=set)

    def __call__(self, kind: Whose, value: str) -> str:
        code = pseudonym(self.key, kind, value)
        if self.given.setdefault((kind, code), same(value)) != same(value):
            self.collided.add(code)
        return code


@dataclass(frozen=True, slots=True)
class Calendar:
    """The day of each operation, and of the first on each wound, by the patient number as compared."""

    surgery: Mapping[Case, dt.date]
    first: Mapping[tuple[str, str], dt.date]

    def origin(self, table: Table, row: Row) -> dt.date | None:
        """Day 0 of the row: its operation, or for a wound the first operation on it."""
        case = case_of(row)
        if case is None:
            return None
        return self.first.get(case[:2]) if table.name == "wounds" else self.surgery.get(case)


def case_of(row: Row) -> Case | None:
    """Patient, wound and operation of a row; operation 1 where the table has none; None when a key is broken."""
    patient = row.data.get("patient_number")
    wound, operation = row.data.get("wound_letter", "A"), row.data.get("operation_number", 1)
    if (
        not isinstance(patient, str)
        or not isinstance(operation, int)
        or row.broken & {"wound_letter", "operation_number"}
    ):
        return None
    return same(patient), str(wound), operation


def calendar(rows: Rows) -> Calendar:
    """The days of the operations; the earlier row holds where an operation stands twice."""
    surgery: dict[Case, dt.date] = {}
    first: dict[tuple[str, str], dt.date] = {}
    for row in rows.get("reconstructions", ()):
        case, day = case_of(row), row.data.get("surgery_date")
        if case and isinstance(day, dt.date):
            surgery.setdefault(case, day)
            first[case[:2]] = min(day, first.get(case[:2], day))
    return Calendar(surgery, first)


def check_days(rows: Rows, when: Calendar) -> list[Fault]:
    """Dates that lie before surgery, or implausibly far from it."""
    faults = []
    for table in TABLES:
        for row in rows.get(table.name, ()):
            origin = when.origin(table, row)
            for each in table.fields:
                day = row.data.get(each.name)
                if origin and isinstance(day, dt.date) and each.kept_as == "day":
                    faults += [row.place(problem, each) for problem in _day_problems(each, day, origin)]
    return faults


def _day_problems(each: Field, day: dt.date, origin: dt.date) -> list[Problem]:
    problems = ranged(each, (day - origin).days).problems
    if not problems:
        return []
    days = (day - origin).days
    place = f"{abs(days)} days {'before' if days < 0 else 'after'} surgery on {origin}"
    if problems[0].severity == "warning":
        usual = f"day {each.warn[0]:g} to {each.warn[1]:g} is common" if each.warn else ""
        return [Problem("unusual_day", f"{day} is {place}; {usual}", "Check it; leave it if it is right", "warning")]
    remedy = "Check both dates"
    if day.day <= 12 and not ranged(each, (dt.date(day.year, day.day, day.month) - origin).days).problems:
        swapped = dt.date(day.year, day.day, day.month)
        remedy += f"; with day and month swapped it would be {swapped}, {abs((swapped - origin).days)} days away"
    return [
        Problem(
            "day_out_of_range",
            f"{day} is {place}; {each.heading} must lie on day {each.low:g} to {each.high:g}",
            remedy,
        )
    ]


def deidentified(rows: Rows, when: Calendar, codes: Codes) -> dict[str, pd.DataFrame]:
    """
    A frame a table as the store takes it, with `row_number` (of the sheet) as last column.

    Rows are in the order of their keys. Rows whose patient, wound or operation cannot be read are left out.
    """
    order = _running_order(when, codes)
    return {table.name: _frame(table, rows.get(table.name, ()), when, codes, order) for table in TABLES}


def _running_order(when: Calendar, codes: Codes) -> dict[Case, int]:
    """Place among the operations of the same month; operations of one day stand in the order of their codes."""
    ordered = sorted(when.surgery, key=lambda case: (when.surgery[case], codes("animal", case[0]), *case[1:]))
    seen: dict[str, int] = {}
    order = {}
    for case in ordered:
        month = f"{when.surgery[case]:%Y-%m}"
        seen[month] = order[case] = seen.get(month, 0) + 1
    return order


def _frame(table: Table, rows: Sequence[Row], when: Calendar, codes: Codes, order: Mapping[Case, int]) -> pd.DataFrame:
    records = []
    for row in rows:
        case = case_of(row)
        if case is None:
            continue
        record = {each.column: _stored(table, each, row, when, codes) for each in table.fields}
        if table.name == "reconstructions":
            operated = when.surgery.get(case)
            record["running_order"] = order.get(case)
            record["clock_day"] = (operated - when.first[case[:2]]).days if operated else None
        record["absent"] = sorted(f"{name}={reason}" for name, reason in row.absent.items())
        record["row_number"] = row.number
        records.append(record)
    records.sort(key=lambda record: [_sortable(record[name]) for name in (*table.key_columns, "row_number")])
    columns = {each.column: dtype(each) for each in table.fields}
    columns |= {each.name: "Int64" for each in DERIVED.get(table.name, ())} | {
        "absent": "object",
        "row_number": "Int64",
    }
    return pd.DataFrame({name: pd.Series([r[name] for r in records], dtype=kind) for name, kind in columns.items()})


def dtype(each: Field) -> str:
    """The pandas type of a field's column in the de-identified frames."""
    return _DTYPES.get(each.kept_as, "object")


def _stored(table: Table, each: Field, row: Row, when: Calendar, codes: Codes) -> object:
    value = row.data.get(each.name)
    if value is None:
        return None
    if isinstance(value, dt.date):
        if each.kept_as == "month":
            return f"{value:%Y-%m}"
        origin = when.origin(table, row)
        return (value - origin).days if origin else None
    if each.identity in ("animal", "staff", "photo"):
        return codes(each.identity, str(value))
    return list(value) if isinstance(value, tuple) else value


def _sortable(value: object) -> tuple[bool, object]:
    return (False, 0) if value is None else (True, value)


def fingerprint(frames: Mapping[str, pd.DataFrame]) -> str:
    """A hash of what the frames say, whatever file they came in."""
    digest = hashlib.sha256()
    for name in sorted(frames):
        digest.update(name.encode() + frames[name].to_csv(index=False).encode())
    return digest.hexdigest()
