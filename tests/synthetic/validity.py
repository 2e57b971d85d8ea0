"""A small reading of the dictionary: what is wrong with typed rows, cell by cell."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from audit import dictionary
from audit.codes import ABSENCES
from audit.dictionary import Field

ABSENT = {code.name for code in ABSENCES}
Rows = Mapping[str, Sequence[Mapping[str, Any]]]


def faults(rows: Rows) -> Iterator[tuple[str, int, str, object, str]]:
    """Every cell against its field, every key against its parents; nothing when the rows are valid."""
    surgeries = {_reconstruction(row): row["surgery_date"] for row in rows["reconstructions"]}
    wounds = {(row["patient_number"], row["wound_letter"]): None for row in rows["wounds"]}
    first = {key[:2]: day for key, day in surgeries.items() if key[2] == 1}
    animals = {row["patient_number"] for row in rows["animals"]}
    for table in dictionary.TABLES:
        seen = set()
        for place, row in enumerate(rows[table.name]):
            key = tuple(row[name] for name in table.keys)
            if key in seen:
                yield table.name, place, "key", key, "twice"
            seen.add(key)
            if row["patient_number"] not in animals:
                yield table.name, place, "patient_number", row["patient_number"], "orphan"
            if "wound_letter" in row and (row["patient_number"], row["wound_letter"]) not in wounds:
                yield table.name, place, "wound_letter", key, "orphan"
            day_0 = surgeries.get(_reconstruction(row)) if "operation_number" in row else first.get(key[:2])
            if day_0 is None and "wound_letter" in row:
                yield table.name, place, "operation_number", key, "orphan"
            for field in table.fields:
                wrong = _wrong(field, row[field.name], day_0)
                if wrong:
                    yield table.name, place, field.name, row[field.name], wrong
    for key in surgeries:
        if [_reconstruction(row) for row in rows["exits"]].count(key) != 1:
            yield "exits", 0, "key", key, "not exactly one exit"


def _reconstruction(row: Mapping[str, Any]) -> tuple[object, ...]:
    return row.get("patient_number"), row.get("wound_letter"), row.get("operation_number")


def _wrong(field: Field, value: Any, day_0: date | None) -> str:
    if value is None:
        return "blank" if field.core else ""
    if isinstance(value, str) and value in ABSENT:
        return "absent" if field.must else ""
    if field.kind in ("code", "yes_no"):
        return "" if value in field.words else "no such code"
    if field.kind == "codes":
        return "" if set(value.split("; ")) <= set(field.words) else "no such code"
    if field.kind in ("whole", "number"):
        if isinstance(value, bool | str) or (field.kind == "whole" and value != int(value)):
            return "no number"
        return "" if field.low <= value <= field.high else "out of range"
    if field.kind == "date":
        if not isinstance(value, date):
            return "no date"
        if field.name == "surgery_date" or day_0 is None:
            return ""
        return "" if field.low <= (value - day_0).days <= field.high else "out of range"
    return ""
