"""The workbook to fill: a sheet a table, drop-down lists, notes on every heading, and an example row."""

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.exceptions import FileCreateError
from xlsxwriter.utility import xl_col_to_name

from audit.codes import ABSENCES
from audit.dictionary import SHEETS, Field, Table
from audit.errors import WorkbookError
from audit.intake.dates import EARLIEST, LATEST
from audit.intake.example import example_value
from audit.intake.read_me import READ_ME

SheetRows = Mapping[str, Sequence[Mapping[str, object]]]

_READY_ROWS = 1000
_LISTS = "Lists"
_OPTIONS = {
    "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False,
    "default_date_format": "yyyy-mm-dd", "nan_inf_to_errors": True,
}  # fmt: skip
_INK, _KEY, _CORE, _MORE, _BAND, _SAMPLE = "#1F2A33", "#24506B", "#3C7A78", "#8A8F86", "#F3F6F5", "#FBF3DC"
_UNITS = {"cm2": "cm²", "d": "days", "a": "years", "1": ""}


def write_template(path: Path, rows: SheetRows | None = None) -> None:
    """
    Write the workbook, blank but for the example rows, or filled with `rows`.

    `rows` are by table name, then field name to value: a date, number, text, True or False, or several words in a list.
    Texts are written as they are, never as formulas or links; allowed codes are written as a person reads them.
    Raises WorkbookError when the file cannot be written.
    """
    book = xlsxwriter.Workbook(str(path), _OPTIONS)
    book.set_properties({"title": "Records of skin grafts and flaps", "created": dt.datetime(2024, 1, 1)})
    formats = _formats(book)
    _read_me(book, formats)
    lists = _Lists(book)
    for table in SHEETS:
        _sheet(book, table, (rows or {}).get(table.name, ()), formats, lists)
    lists.write()
    try:
        book.close()
    except FileCreateError as error:
        raise WorkbookError(f"{path} cannot be written ({error}); close it in other programs") from None


class _Lists:
    """The words behind the drop-downs, a column a list, on a sheet of their own."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._columns: dict[tuple[str, ...], str] = {}

    def source(self, words: tuple[str, ...]) -> str:
        if words not in self._columns:
            letter = xl_col_to_name(len(self._columns))
            self._columns[words] = f"={_LISTS}!${letter}$1:${letter}${len(words)}"
        return self._columns[words]

    def write(self) -> None:
        sheet = self._book.add_worksheet(_LISTS)
        for position, words in enumerate(self._columns):
            sheet.write_column(0, position, words)
            sheet.set_column(position, position, 24)
        sheet.hide()


def _formats(book: Any) -> dict[str, Any]:
    cell = {"font_name": "Calibri", "font_size": 11, "font_color": _INK, "valign": "vcenter"}
    head = cell | {
        "bold": True,
        "font_color": "#FFFFFF",
        "text_wrap": True,
        "valign": "top",
        "border": 1,
        "border_color": "#FFFFFF",
    }
    sample = cell | {"italic": True, "bg_color": _SAMPLE, "bottom": 1, "bottom_color": _MORE}
    kinds = {
        "text": {"num_format": "@"},
        "date": {"num_format": "yyyy-mm-dd", "align": "left"},
        "number": {"align": "left"},
    }
    formats = {kind: book.add_format(cell | more) for kind, more in kinds.items()}
    formats |= {f"sample_{kind}": book.add_format(sample | more) for kind, more in kinds.items()}
    formats |= {name: book.add_format(head | {"bg_color": colour}) for name, colour in
             (("head_key", _KEY), ("head_core", _CORE), ("head_more", _MORE))}  # fmt: skip
    formats["band"] = book.add_format({"bg_color": _BAND})
    formats["title"] = book.add_format(cell | {"bold": True, "font_size": 16, "font_color": _KEY})
    formats["topic"] = book.add_format(cell | {"bold": True, "valign": "top", "font_color": _KEY, "text_wrap": True})
    formats["prose"] = book.add_format(cell | {"text_wrap": True, "valign": "top"})
    return formats


def _read_me(book: Any, formats: Mapping[str, Any]) -> None:
    sheet = book.add_worksheet("Read me")
    sheet.hide_gridlines(2)
    sheet.set_column(0, 0, 24)
    sheet.set_column(1, 1, 92)
    sheet.write_string(0, 0, READ_ME[0][0], formats["title"])
    sheet.set_row(0, 30)
    lines = [*READ_ME[1:], *((table.title, f"{table.grain[:1].upper()}{table.grain[1:]}.") for table in SHEETS)]
    for row, (topic, prose) in enumerate(lines, start=2):
        sheet.write_string(row, 0, topic, formats["topic"])
        sheet.write_string(row, 1, prose, formats["prose"])
        sheet.set_row(row, 16 * (1 + len(prose) // 98) + 4)
    sheet.set_portrait()
    sheet.set_paper(9)
    sheet.fit_to_pages(1, 0)


def in_order(table: Table) -> tuple[Field, ...]:
    """The fields as the sheet shows them: the core first."""
    return (*table.core, *(field for field in table.fields if not field.core))


def _sheet(
    book: Any, table: Table, rows: Sequence[Mapping[str, object]], formats: Mapping[str, Any], lists: _Lists
) -> None:
    sheet = book.add_worksheet(table.title)
    fields = in_order(table)
    filled = [{field.name: example_value(field) for field in fields}, *rows]
    last = max(_READY_ROWS, len(filled))
    for column, field in enumerate(fields):
        kind = _kind(field)
        folded_away = {} if field.core else {"level": 1, "hidden": True}
        sheet.set_column(column, column, _width(field), formats[kind], folded_away)
        head = "head_key" if field.kind == "key" else "head_core" if field.core else "head_more"
        sheet.write_string(0, column, field.heading, formats[head])
        sheet.write_comment(0, column, note(field), {"x_scale": 2.2, "y_scale": _note_height(field), "font_size": 9})
        sheet.data_validation(1, column, last, column, _validation(field, lists))
        for row, values in enumerate(filled, start=1):
            _write(sheet, row, column, field, values.get(field.name), formats[f"sample_{kind}" if row == 1 else kind])
    if len(fields) > len(table.core):
        sheet.set_column(len(fields), len(fields), 3, None, {"collapsed": True})
    sheet.set_row(0, 48)
    sheet.conditional_format(
        2, 0, last, len(fields) - 1, {"type": "formula", "criteria": "=MOD(ROW(),2)=0", "format": formats["band"]}
    )
    sheet.freeze_panes(1, min(3, sum(field.kind == "key" for field in fields)))
    sheet.set_landscape()
    sheet.set_paper(9)
    sheet.repeat_rows(0)
    sheet.fit_to_pages(1, 0)
    sheet.set_tab_color(_MORE if table.name == "theatre_list" else _CORE)


def _kind(field: Field) -> str:
    if field.kind == "date":
        return "date"
    return "number" if field.kept_as in ("whole", "number") else "text"


def _width(field: Field) -> float:
    longest = max((len(word) for word in field.heading.split()), default=0)
    words = max((len(word) for word in field.words), default=0)
    return min(
        30,
        max(
            12 if field.kind == "key" else 16,
            longest + 3,
            len(field.heading) / 2 + 3,
            words + 2,
            13 if field.kind == "date" else 0,
        ),
    )


def unit(field: Field) -> str:
    """The unit as it is printed; empty for a pure number."""
    return "" if field.kind == "date" else _UNITS.get(field.unit, field.unit)


def note(field: Field) -> str:
    """What rests behind a heading: the term, unit, range, words, and why it is asked."""
    lines = [field.term[:1].upper() + field.term[1:]]
    if field.kind == "date":
        lines.append("Date, as yyyy-mm-dd")
    elif field.low is not None and field.high is not None:
        lines.append(f"From {field.low:g} to {field.high:g} {unit(field)}".strip())
    if field.kind == "codes":
        lines.append(
            "Several words may stand here, parted by semicolons: " + ", ".join(w.replace("_", " ") for w in field.words)
        )
    lines += [f"{code.name.replace('_', ' ')}: {code.label}" for code in field.codes
              if field.kind == "code" and code.label != code.name.replace("_", " ")]  # fmt: skip
    if field.default:
        lines.append(f"Blank means {field.default}")
    lines.append(f"Why: {field.why}")
    return "\n".join(lines)


def _note_height(field: Field) -> float:
    return max(0.8, sum(1 + len(line) // 44 for line in note(field).split("\n")) * 0.21)


def _validation(field: Field, lists: _Lists) -> dict[str, object]:
    absences = () if field.kind == "key" else tuple(code.name.replace("_", " ") for code in ABSENCES)
    words = tuple(word.replace("_", " ") for word in field.words)
    if words:
        several = field.kind == "codes"
        return {"validate": "list", "source": lists.source(words + absences), "show_error": not several,
                "error_title": field.heading, "error_message": "Choose a word from the list."}  # fmt: skip
    gentle = {"error_type": "warning", "error_title": field.heading}
    if field.kind == "date":
        message = "A date is due, as yyyy-mm-dd, or a word such as: not recorded."
        return gentle | _between("date", EARLIEST, LATEST, message)
    if field.kind in ("whole", "number"):
        whole = "integer" if field.kind == "whole" else "decimal"
        message = (
            f"A number from {field.low:g} to {field.high:g} {unit(field)} is due, or a word such as: not recorded."
        )
        return gentle | _between(whole, field.low, field.high, message)
    if _kind(field) == "number":
        return gentle | _between("integer", field.low, field.high, "Count 1, 2, 3.")
    message = "A short number or code is due, no name."
    return gentle | {"validate": "length", "criteria": "<=", "value": 40, "error_message": message}


def _between(kind: str, low: object, high: object, message: str) -> dict[str, object]:
    return {"validate": kind, "criteria": "between", "minimum": low, "maximum": high, "error_message": message}


def _write(sheet: Any, row: int, column: int, field: Field, value: object, look: Any) -> None:
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if isinstance(value, list | tuple):
        value = "; ".join(_as_read(field, str(word)) for word in value)
    if value is None or value == "":
        return
    if isinstance(value, dt.datetime | dt.date):
        sheet.write_datetime(row, column, value, look)
    elif isinstance(value, int | float):
        sheet.write_number(row, column, value, look)
    else:
        sheet.write_string(row, column, _as_read(field, str(value)), look)


def _as_read(field: Field, word: str) -> str:
    known = word in field.words or any(word == code.name for code in ABSENCES)
    return word.replace("_", " ") if known else word
