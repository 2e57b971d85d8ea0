"""Cells with numbers."""

import datetime as dt
import math
import re

from audit.dictionary import Field
from audit.intake.cell_reading import HOW_ABSENT, SAYS_NOTHING, DateOrder, ReadCell, Reading, wrong
from audit.intake.faults import Problem, shown
from audit.intake.reading import as_text

_NUMBER = re.compile(r"[+-]?(\d{1,15})(?:([.,])(\d{1,15}))?")


def number_reader(field: Field, dates: DateOrder, comma: bool) -> ReadCell:
    """Reads a number within the range of its field."""

    def read(raw: object) -> Reading:
        number = number_in(raw, comma)
        if number is None:
            return Reading(problems=(_not_a_number(field, raw),))
        if field.kind == "whole" and not float(number).is_integer():
            return wrong("not_whole", f"{shown(raw)} is not a whole number", f"Give {field.heading} as a whole number")
        value = int(number) if field.kind == "whole" else float(number)
        return ranged(field, value)

    return read


def ranged(field: Field, value: float) -> Reading:
    """The number of the field if it lies in its range; with a warning where it is unusual."""
    unit = "" if field.unit == "1" else f" {field.unit}"
    low, high = (-math.inf if field.low is None else field.low), (math.inf if field.high is None else field.high)
    if not low <= value <= high:
        return wrong(
            "out_of_range", f"{value:g} is outside {low:g} to {high:g}{unit}", f"Check {field.heading} and its unit"
        )
    if field.warn and not field.warn[0] <= value <= field.warn[1]:
        sentence = f"{value:g} is unusual; {field.warn[0]:g} to {field.warn[1]:g}{unit} is common"
        return Reading(value, problems=(Problem("unusual", sentence, "Check it; leave it if it is right", "warning"),))
    return Reading(value)


def number_in(raw: object, comma: bool) -> int | float | None:
    """The number that a cell holds as a number or plain digits; None for anything else."""
    if isinstance(raw, bool):
        return None
    if isinstance(raw, int):
        return raw if abs(raw) < 10**15 else None
    if isinstance(raw, float):
        return raw if math.isfinite(raw) and abs(raw) < 1e15 else None
    if not isinstance(raw, str):
        return None
    match = _NUMBER.fullmatch(raw.strip()) if raw.isascii() else None
    if not match:
        return None
    _, mark, decimals = match.groups()
    if mark == "," and not comma:
        return None
    if mark == "." and comma and len(decimals) == 3:
        return None  # 1.234 in a file with decimal commas may mean a thousand
    return float(raw.strip().replace(",", "."))


def _not_a_number(field: Field, raw: object) -> Problem:
    text = as_text(raw)
    if isinstance(raw, dt.date | dt.time | dt.timedelta):
        return Problem("date_in_number", f"the cell holds the date or time {shown(text)} where {field.heading} is due",
                       "Format it as a number and type it again")  # fmt: skip
    if text.strip().casefold() in SAYS_NOTHING:
        return Problem(
            "not_a_number", f"{shown(text)!r} is not a number", f"If there is no value, write which: {HOW_ABSENT}"
        )
    unit = f", in {field.unit}" if field.unit not in ("", "1") else ""
    offer = ""
    if re.fullmatch(r"[+-]?\d{1,15},\d{1,15}", text.strip()):
        offer = f", for instance {text.strip().replace(',', '.')}"
    return Problem(
        "not_a_number", f"{shown(text)!r} is not a number", f"Write digits only{unit}{offer}; or {HOW_ABSENT}"
    )
