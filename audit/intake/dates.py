"""Cells with dates."""

import datetime as dt
import math
import re

from openpyxl.utils.datetime import from_excel

from audit.dictionary import Field
from audit.intake.cell_reading import HOW_ABSENT, DateOrder, ReadCell, Reading, wrong
from audit.intake.faults import shown
from audit.intake.reading import as_text

EARLIEST, LATEST = dt.date(1990, 1, 1), dt.date(2100, 1, 1)

_ORDERED = re.compile(r"(\d{1,4})\s*[./\-\s]\s*(\d{1,2})\s*[./\-\s]\s*(\d{1,4})")
_ISO = re.compile(r"(\d{4}-\d{2}-\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")


def date_reader(field: Field, dates: DateOrder, comma: bool) -> ReadCell:
    """Reads a date; one typed as text must be ISO, unless the caller says in which order it is written."""

    def read(raw: object) -> Reading:
        if isinstance(raw, dt.datetime):
            return _dated(raw.date())
        if isinstance(raw, dt.date):
            return _dated(raw)
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            return wrong("date_as_number", f"the cell holds the number {raw:g}", _date_remedy(raw))
        text = as_text(raw).strip()
        if match := _ISO.fullmatch(text):
            try:
                return _dated(dt.date.fromisoformat(match[1]))
            except ValueError:
                return wrong(
                    "not_a_date", f"{shown(text)!r} is not a date of the calendar", "Give the date as yyyy-mm-dd"
                )
        if match := _ORDERED.fullmatch(text):
            return _text_date(text, match, dates)
        return wrong("not_a_date", f"{shown(text)!r} is not a date", f"Give the date as yyyy-mm-dd, or {HOW_ABSENT}")

    return read


def _date_remedy(raw: float) -> str:
    if not math.isfinite(raw) or not 32874 <= raw < 73051:  # serial numbers of the years 1990 to 2099
        return "Give the date as yyyy-mm-dd"
    return f"Format the cell as a date (it would be {from_excel(int(raw)):%Y-%m-%d})"


def _dated(day: dt.date) -> Reading:
    if EARLIEST <= day < LATEST:
        return Reading(day)
    return wrong("date_out_of_range", f"{day.isoformat()} is not a likely date", "Check the year")


def _text_date(text: str, match: re.Match[str], dates: DateOrder) -> Reading:
    """A date typed as text: refused unless the caller has said in which order this practice writes it."""
    first, second, third = (int(part) for part in match.groups())
    if len(match[3]) != 4:
        return wrong(
            "not_a_date", f"{shown(text)!r} does not show which part is the year", "Give the date as yyyy-mm-dd"
        )
    if dates == "iso":
        readings = [day for day in (_day(third, second, first), _day(third, first, second)) if day]
        meant = " or ".join(dict.fromkeys(day.isoformat() for day in readings))
        remedy = f"Give it as yyyy-mm-dd ({meant}), or say once for the whole file which comes first, day or month"
        if not meant:
            return wrong("not_a_date", f"{shown(text)!r} is not a date of the calendar", "Give the date as yyyy-mm-dd")
        return wrong("text_date", f"{shown(text)!r} is text, and may be read day first or month first", remedy)
    day_first = dates == "day-first"
    day = _day(third, second, first) if day_first else _day(third, first, second)
    if day:
        return _dated(day)
    swapped = _day(third, first, second) if day_first else _day(third, second, first)
    remedy = f"Day and month may be swapped; give it as yyyy-mm-dd ({swapped})" if swapped else "Give it as yyyy-mm-dd"
    return wrong("not_a_date", f"{shown(text)!r} is not a date with the {dates.replace('-', ' ')}", remedy)


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None
