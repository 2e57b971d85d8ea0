"""From what was typed in a cell to a value, an absence or a problem; never an exception and never a guess."""

import datetime as dt
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from openpyxl.utils.datetime import from_excel

from audit.codes import ABSENCES, Code
from audit.dictionary import Field
from audit.intake.faults import Problem, did_you_mean, folded, shown
from audit.intake.reading import Odd, as_text

DateOrder = Literal["iso", "day-first", "month-first"]
Value = str | int | float | bool | dt.date | tuple[str, ...]

EARLIEST, LATEST = dt.date(1990, 1, 1), dt.date(2100, 1, 1)
HOW_ABSENT = "not recorded, not applicable, not assessable or refused"

_NUMBER = re.compile(r"[+-]?(\d{1,15})(?:([.,])(\d{1,15}))?")
_ORDERED = re.compile(r"(\d{1,4})\s*[./\-\s]\s*(\d{1,2})\s*[./\-\s]\s*(\d{1,4})")
_ISO = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_SAYS_NOTHING = {
    "na",
    "n/a",
    "n.a.",
    "nil",
    "null",
    "none",
    "nan",
    "?",
    "??",
    "-",
    "--",
    ".",
    "x",
    "unknown",
    "missing",
    "nk",
}
_LARGEST_KEY = 40
_MOST_OPERATIONS = 20


@dataclass(frozen=True, slots=True)
class Reading:
    """
    What a cell says: a value, or why there is none, or what is wrong with it.

    Blank is all three empty. A value may come with warnings; with an error it is None.
    """

    value: Value | None = None
    absence: str = ""
    problems: tuple[Problem, ...] = ()


def reader(
    field: Field, *, dates: DateOrder = "iso", comma: bool = False, may_be_absent: bool = True
) -> Callable[[object], Reading]:
    """
    The function that reads cells of this field.

    `dates` is the order in which text dates are written, `comma` allows a decimal comma, `may_be_absent` allows the
    words that stand for a missing value.

    >>> from audit.dictionary import table
    >>> reader(table("visits")["viable_pct"])(140).problems[0].sentence
    '140 is outside 0 to 100 %'
    """
    read = _READERS[field.kind](field, dates, comma)
    absences = _index(ABSENCES)

    def read_cell(raw: object) -> Reading:
        if raw is None or (isinstance(raw, str) and not raw.strip()):
            return Reading()
        if isinstance(raw, Odd):
            return Reading(problems=(_odd(raw),))
        if isinstance(raw, str) and (absence := absences.get(folded(raw))):
            if may_be_absent:
                return Reading(absence=absence)
            return _wrong(
                "key_is_absent", f"{shown(raw)!r} cannot stand here, where rows are told apart", "Give the value"
            )
        return read(raw)

    return read_cell


def _wrong(check: str, sentence: str, remedy: str) -> Reading:
    return Reading(problems=(Problem(check, sentence, remedy),))


def _odd(cell: Odd) -> Problem:
    if cell.why == "formula":
        return Problem("formula_without_value", f"the formula {shown(cell)} was never worked out",
                       "Open and save the file in the spreadsheet program, or type the value")  # fmt: skip
    if cell.why == "percentage":
        return Problem("percentage_format", f"the cell is formatted as a percentage and shows {shown(cell)}",
                       "Format it as a plain number and type the number without a per cent sign")  # fmt: skip
    return Problem(
        "spreadsheet_error",
        f"the cell holds the spreadsheet's error {shown(cell)}",
        "Type the value, or leave it blank",
    )


def _index(codes: tuple[Code, ...]) -> dict[str, str]:
    """Folded names and labels to code names; a name wins over another code's label."""
    return {folded(code.label): code.name for code in codes} | {folded(code.name): code.name for code in codes}


def _spoken(words: tuple[str, ...]) -> list[str]:
    return [word.replace("_", " ") for word in words]


def _not_a_word(field: Field, text: str) -> Problem:
    allowed = _spoken(field.words)
    listed = f"Use one of: {', '.join(allowed)}" if len(allowed) <= 8 else "Choose from the list of this column"
    if text.strip().casefold() in _SAYS_NOTHING:
        remedy = f"If there is no value, write which: {HOW_ABSENT}"
    else:
        remedy = did_you_mean(text, allowed, f"{listed}, or {HOW_ABSENT}")
    return Problem("unknown_word", f"{shown(text)!r} is no word for {field.term}", remedy)


def _code_reader(field: Field, dates: DateOrder, comma: bool) -> Callable[[object], Reading]:
    index = _index(field.codes)

    def read(raw: object) -> Reading:
        text = _yes_no_text(raw) if set(field.words) == {"yes", "no"} else as_text(raw)
        word = index.get(folded(text))
        if word is None:
            return Reading(problems=(_not_a_word(field, text),))
        return Reading(word == "yes" if field.kind == "yes_no" else word)

    return read


def _yes_no_text(raw: object) -> str:
    return {True: "yes", False: "no"}[raw] if isinstance(raw, bool) else as_text(raw)


def _codes_reader(field: Field, dates: DateOrder, comma: bool) -> Callable[[object], Reading]:
    index = _index(field.codes)
    absences = _index(ABSENCES)

    def read(raw: object) -> Reading:
        parts = [part for part in re.split(r"[;,|\n]", as_text(raw)) if part.strip()]
        if any(folded(part) in absences for part in parts):
            return _wrong("absence_among_words", f"{shown(raw)!r} says both that there is a value and that there is none",
                          "Keep the values or the one word for their absence")  # fmt: skip
        problems = tuple(_not_a_word(field, part.strip()) for part in parts if folded(part) not in index)
        found = {index[folded(part)] for part in parts if folded(part) in index}
        if "none" in found and len(found) > 1:
            problems += (Problem("none_among_words", f"{shown(raw)!r} says none and something",
                                 "Remove 'none' or the others"),)  # fmt: skip
        if problems or not found:
            return Reading(problems=problems or (_not_a_word(field, as_text(raw)),))
        return Reading(tuple(word for word in field.words if word in found))

    return read


def _number_reader(field: Field, dates: DateOrder, comma: bool) -> Callable[[object], Reading]:
    def read(raw: object) -> Reading:
        number = _number(raw, comma)
        if number is None:
            return Reading(problems=(_not_a_number(field, raw),))
        if field.kind == "whole" and not float(number).is_integer():
            return _wrong("not_whole", f"{shown(raw)} is not a whole number", f"Give {field.term} as a whole number")
        value = int(number) if field.kind == "whole" else float(number)
        return ranged(field, value)

    return read


def ranged(field: Field, value: float) -> Reading:
    """The number of the field if it lies in its range; with a warning where it is unusual."""
    unit = "" if field.unit == "1" else f" {field.unit}"
    low, high = (-math.inf if field.low is None else field.low), (math.inf if field.high is None else field.high)
    if not low <= value <= high:
        return _wrong(
            "out_of_range", f"{value:g} is outside {low:g} to {high:g}{unit}", f"Check {field.term} and its unit"
        )
    if field.warn and not field.warn[0] <= value <= field.warn[1]:
        sentence = f"{value:g} is unusual; {field.warn[0]:g} to {field.warn[1]:g}{unit} is common"
        return Reading(value, problems=(Problem("unusual", sentence, "Check it; leave it if it is right", "warning"),))
    return Reading(value)


def _number(raw: object, comma: bool) -> int | float | None:
    if isinstance(raw, bool):
        return None
    if isinstance(raw, int):
        return raw if abs(raw) < 10**15 else None
    if isinstance(raw, float):
        return raw if math.isfinite(raw) and abs(raw) < 1e15 else None
    match = _NUMBER.fullmatch(raw.strip()) if isinstance(raw, str) and raw.isascii() else None
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
        return Problem("date_in_number", f"the cell holds the date or time {shown(text)} where {field.term} is due",
                       "Format it as a number and type it again")  # fmt: skip
    if text.strip().casefold() in _SAYS_NOTHING:
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


def _date_reader(field: Field, dates: DateOrder, comma: bool) -> Callable[[object], Reading]:
    def read(raw: object) -> Reading:
        if isinstance(raw, dt.datetime):
            return _dated(raw.date())
        if isinstance(raw, dt.date):
            return _dated(raw)
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            return _wrong("date_as_number", f"the cell holds the number {raw:g}", _date_remedy(raw))
        text = as_text(raw).strip()
        if match := _ISO.fullmatch(text):
            try:
                return _dated(dt.date.fromisoformat(match[1]))
            except ValueError:
                return _wrong(
                    "not_a_date", f"{shown(text)!r} is not a date of the calendar", "Give the date as yyyy-mm-dd"
                )
        if match := _ORDERED.fullmatch(text):
            return _text_date(text, match, dates)
        return _wrong("not_a_date", f"{shown(text)!r} is not a date", f"Give the date as yyyy-mm-dd, or {HOW_ABSENT}")

    return read


def _date_remedy(raw: float) -> str:
    if not math.isfinite(raw) or not 32874 <= raw < 73051:  # serial numbers of the years 1990 to 2099
        return "Give the date as yyyy-mm-dd"
    return f"Format the cell as a date (it would be {from_excel(int(raw)):%Y-%m-%d})"


def _dated(day: dt.date) -> Reading:
    if EARLIEST <= day < LATEST:
        return Reading(day)
    return _wrong("date_out_of_range", f"{day.isoformat()} is not a likely date", "Check the year")


def _text_date(text: str, match: re.Match[str], dates: DateOrder) -> Reading:
    """A date typed as text: refused unless the caller has said in which order this practice writes it."""
    first, second, third = (int(part) for part in match.groups())
    if len(match[3]) != 4:
        return _wrong(
            "not_a_date", f"{shown(text)!r} does not show which part is the year", "Give the date as yyyy-mm-dd"
        )
    if dates == "iso":
        readings = [day for day in (_day(third, second, first), _day(third, first, second)) if day]
        meant = " or ".join(dict.fromkeys(day.isoformat() for day in readings))
        remedy = f"Give it as yyyy-mm-dd ({meant}), or say once for the whole file which comes first, day or month"
        if not meant:
            return _wrong("not_a_date", f"{shown(text)!r} is not a date of the calendar", "Give the date as yyyy-mm-dd")
        return _wrong("text_date", f"{shown(text)!r} is text, and may be read day first or month first", remedy)
    day_first = dates == "day-first"
    found = _day(third, second, first) if day_first else _day(third, first, second)
    if found:
        return _dated(found)
    swapped = _day(third, first, second) if day_first else _day(third, second, first)
    remedy = f"Day and month may be swapped; give it as yyyy-mm-dd ({swapped})" if swapped else "Give it as yyyy-mm-dd"
    return _wrong("not_a_date", f"{shown(text)!r} is not a date with the {dates.replace('-', ' ')}", remedy)


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _key_reader(field: Field, dates: DateOrder, comma: bool) -> Callable[[object], Reading]:
    return {"patient_number": _label, "wound_letter": _letter}.get(field.name, _ordinal)(field)


def _token_reader(field: Field, dates: DateOrder, comma: bool) -> Callable[[object], Reading]:
    return _label(field)


def _label(field: Field) -> Callable[[object], Reading]:
    """A number or code that somebody else gave out; leading zeros belong to it."""

    def read(raw: object) -> Reading:
        if isinstance(raw, bool | dt.date | dt.time | dt.timedelta):
            return _wrong(
                "not_a_code",
                f"the cell holds {shown(as_text(raw))}, no {field.term}",
                "Format it as text and type it again",
            )
        if isinstance(raw, float) and not raw.is_integer():
            return _wrong(
                "not_a_code", f"{shown(raw)} has decimals", f"Format the cell as text and type the {field.term} again"
            )
        text = " ".join(as_text(raw).split())
        text = re.sub(r"^(\d+)\.0+$", r"\1", text)
        if len(text) > _LARGEST_KEY:
            return _wrong(
                "not_a_code",
                f"{shown(text)!r} is too long for a {field.term}",
                f"Use at most {_LARGEST_KEY} characters",
            )
        return Reading(text)

    return read


def _letter(field: Field) -> Callable[[object], Reading]:
    def read(raw: object) -> Reading:
        text = as_text(raw).strip().upper()
        if not re.fullmatch("[A-Z]", text):
            return _wrong(
                "not_a_letter",
                f"{shown(raw)!r} is no wound letter",
                "Use one letter, A for the first wound, B for the next",
            )
        return Reading(text)

    return read


def _ordinal(field: Field) -> Callable[[object], Reading]:
    def read(raw: object) -> Reading:
        number = _number(raw, comma=False)
        if number is None or not float(number).is_integer() or not 1 <= number <= _MOST_OPERATIONS:
            return _wrong(
                "not_an_ordinal",
                f"{shown(as_text(raw))!r} is no {field.term}",
                f"Count 1, 2, 3, up to {_MOST_OPERATIONS}",
            )
        return Reading(int(number))

    return read


_READERS: dict[str, Callable[[Field, DateOrder, bool], Callable[[object], Reading]]] = {
    "key": _key_reader, "token": _token_reader, "code": _code_reader, "codes": _codes_reader, "yes_no": _code_reader,
    "whole": _number_reader, "number": _number_reader, "date": _date_reader,
}  # fmt: skip
