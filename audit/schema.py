"""What stands in the tables: columns, types, the conditions of every value, and the terms that queries read."""

from typing import Any

from audit import dictionary
from audit.codes import ABSENCES
from audit.dictionary import DERIVED, Field, StoreType, Table
from audit.protocol import Period, Protocol

Rows = dict[str, tuple[str, list[tuple[Any, ...]]]]
"""Tables by name: their columns as SQL, and their rows."""

_TYPES: dict[StoreType, str] = {
    "pseudonym": "VARCHAR",
    "letter": "VARCHAR",
    "word": "VARCHAR",
    "words": "VARCHAR[]",
    "yes_no": "BOOLEAN",
    "whole": "INTEGER",
    "number": "DOUBLE",
    "day": "INTEGER",
    "month": "VARCHAR",
}
_PATTERNS: dict[StoreType, str] = {
    "pseudonym": "[0-9a-f]{12}",
    "letter": "[A-Z]",
    "month": r"\d{4}-(0[1-9]|1[0-2])",
}


def columns(table: Table) -> dict[str, str]:
    """Type of every column that a load brings, in order: the fields, what was derived from dates, and `absent`."""
    found = {field.column: _TYPES[field.kept_as] for field in table.fields}
    found |= {extra.name: "INTEGER" for extra in DERIVED.get(table.name, ())}
    return found | {"absent": "VARCHAR[]"}


def conditions(table: Table) -> dict[str, str]:
    """
    SQL that a value of the column must not make false, by column; blanks pass. A key is tested where it is at home.

    >>> conditions(dictionary.table("exits"))["exit_day"]
    'exit_day between 0 and 3650'
    """
    found = {field.column: _condition(field) for field in table.fields}
    for column, home in (("animal", "animals"), ("wound", "wounds")):
        if table.name != home:
            found.pop(column, None)
    names, reasons = "|".join(field.name for field in table.fields), "|".join(absence.name for absence in ABSENCES)
    found["absent"] = _each("absent", f"(?:{names})=(?:{reasons})")
    return {column: sql for column, sql in found.items() if sql}


def required(table: Table) -> tuple[str, ...]:
    """Columns that are never blank: what must be given, what has a default, and what was derived."""
    given = tuple(field.column for field in table.fields if field.must or field.default)
    return (*given, *(extra.name for extra in DERIVED.get(table.name, ())), "absent")


def of_protocol(protocol: Protocol, period: Period) -> Rows:
    """The definitions of a protocol as the tables that queries read: one row of `protocol`, its days and thresholds."""
    settings = {
        "unit": protocol.analysis.unit,
        "first_operation": protocol.analysis.first_operation,
        "period_start": period.start,
        "period_end": period.end,
        "take_day": protocol.take.day,
        "take_from": protocol.take.from_day,
        "take_to": protocol.take.to_day,
        "take_threshold": protocol.take.threshold_pct,
        "heal_confirm_after": protocol.healing.confirm_after,
        "heal_question": protocol.healing.question,
        "complication_by": protocol.complications.by_day,
        "hair_from": protocol.hair.from_day,
        "hair_to": protocol.hair.to_day,
        "sutures_from": protocol.donor.sutures_from,
        "sutures_to": protocol.donor.sutures_to,
    }
    kinds = {str: "varchar", float: "double", int: "integer"}
    primary, thresholds = protocol.take.threshold_pct, {protocol.take.threshold_pct, *protocol.take.also_pct}
    return {
        "protocol": (
            ", ".join(f"{n} {kinds[type(value)]}" for n, value in settings.items()),
            [tuple(settings.values())],
        ),
        "healing_day": ("day integer", [(day,) for day in sorted(set(protocol.healing.days))]),
        "take_threshold": ("pct double, is_primary boolean", [(pct, pct == primary) for pct in sorted(thresholds)]),
    }


def of_dictionary() -> Rows:
    """Every code, species and field of the store as the tables that queries read."""
    return {
        "code": dictionary.code_rows(),
        "species": dictionary.species_rows(),
        "field": (
            "table_name varchar, field varchar, column_name varchar, term varchar, "
            "is_key boolean, is_core boolean, is_wanted boolean",
            [(t.name, f.name, f.column, f.term, f.kind == "key", f.core, f.wanted) for t, f in dictionary.fields()],
        ),
    }


def _condition(field: Field) -> str:
    column = field.column
    match field.kept_as:
        case "word":
            return f"{column} in ({', '.join(map(repr, field.words))})"
        case "words":
            return _each(column, "|".join(field.words))
        case "pseudonym" | "letter" | "month" as pattern:
            return f"regexp_full_match({column}, '{_PATTERNS[pattern]}')"
        case "whole" | "number" | "day" if field.low is not None:
            return f"{column} between {field.low:g} and {field.high:g}"
    return ""


def _each(column: str, pattern: str) -> str:
    """True of a list whose every entry matches; a fifth of the time of asking for a subset of two lists."""
    return f"regexp_full_match(array_to_string({column}, ' '), '(?:(?:{pattern})(?: |$))*')"
