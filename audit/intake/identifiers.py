"""Cells with numbers and letters that tell records apart, and codes for people and photographs."""

import datetime as dt
import re

from audit.dictionary import Field
from audit.intake.cell_reading import DateOrder, ReadCell, Reading, wrong
from audit.intake.faults import shown
from audit.intake.numbers import number_in, ranged
from audit.intake.reading import as_text

_LONGEST = 40
_SHORTENED = re.compile(r"\d(?:[.,]\d+)?[eE]\+?\d+")


def key_reader(field: Field, dates: DateOrder, comma: bool) -> ReadCell:
    """Reads what tells rows apart: a patient number, a wound letter, or a count."""
    return {"pseudonym": _label, "letter": _letter}.get(field.kept_as, _ordinal)(field)


def token_reader(field: Field, dates: DateOrder, comma: bool) -> ReadCell:
    """Reads a code that the practice gave to a colleague, branch or photograph."""
    return _label(field)


def _label(field: Field) -> ReadCell:
    """A number or code that somebody else gave out; leading zeros belong to it."""

    def read(raw: object) -> Reading:
        if isinstance(raw, bool | dt.date | dt.time | dt.timedelta):
            return wrong(
                "not_a_code",
                f"the cell holds {shown(as_text(raw))}, no {field.term}",
                "Format it as text and type it again",
            )
        if isinstance(raw, float) and not raw.is_integer():
            return wrong(
                "not_a_code", f"{shown(raw)} has decimals", f"Format the cell as text and type the {field.term} again"
            )
        text = " ".join(as_text(raw).split())
        if _SHORTENED.fullmatch(text):
            return wrong("shortened_number", f"{text} was shortened by the spreadsheet; its digits are lost",
                         f"Format the cell as text and type the {field.term} again")  # fmt: skip
        text = re.sub(r"^(\d+)\.0+$", r"\1", text)
        if len(text) > _LONGEST:
            return wrong(
                "not_a_code",
                f"{shown(text)!r} is too long for a {field.term}",
                f"Use at most {_LONGEST} characters",
            )
        return Reading(text)

    return read


def _letter(field: Field) -> ReadCell:
    def read(raw: object) -> Reading:
        text = as_text(raw).strip().upper()
        if not re.fullmatch("[A-Z]", text):
            return wrong(
                "not_a_letter",
                f"{shown(raw)!r} is no wound letter",
                "Use one letter, A for the first wound, B for the next",
            )
        return Reading(text)

    return read


def _ordinal(field: Field) -> ReadCell:
    def read(raw: object) -> Reading:
        number = number_in(raw, comma=False)
        if number is None or not float(number).is_integer() or ranged(field, number).problems:
            return wrong(
                "not_an_ordinal",
                f"{shown(as_text(raw))!r} is no {field.term}",
                f"Count 1, 2, 3, up to {field.high:g}",
            )
        return Reading(int(number))

    return read
