"""Tables as one workbook: a list of them, then a sheet each, in which numbers are numbers and all else is text."""

import io
import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from functools import cache
from textwrap import wrap
from typing import Any

import xlsxwriter

from reports.document import Column, Table

# A leading zero belongs to a code; beyond 15 digits a spreadsheet would round.
PLAIN_NUMBER = re.compile(r"-?(0|[1-9][0-9]*|[1-9][0-9]{0,2}(,[0-9]{3})+)(\.[0-9]+)?\Z")
MOST_DIGITS = 15
NOT_IN_XML = re.compile("[\ud800-\udfff\ufffe\uffff]")
# Beyond U+FFFF a letter would count as two.
NOT_IN_SHEET_NAME = re.compile("[\\[\\]:*?/\\\\'\x00-\x1f\ud800-\udfff\ufffe-\U0010ffff]")
LONGEST_SHEET_NAME = 31
NARROWEST, WIDEST, DEFAULT = 8, 42, 8.43  # columns, in characters
NOTE_WIDTH = 90
LINE_HEIGHT, TALLEST = 15, 409  # points
LIST_SHEET = "Tables"
A4 = 9
CARE = "Counts and estimates of past records, no clinical advice. What they mean and do not mean stands in the report."
OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


def to_xlsx(tables: Sequence[Table]) -> bytes:
    """
    The workbook: Table 1 is the first of `tables`. The same tables give the same bytes.

    Cells that read as a number in full ("1,204", "−3.5") become numbers shown with the same decimals.
    """
    file = io.BytesIO()
    with xlsxwriter.Workbook(file, OPTIONS) as book:
        book.set_properties({"title": LIST_SHEET, "created": datetime(2000, 1, 1)})
        look = _looks(book)
        names = [_sheet_name(number, table.title) for number, table in enumerate(tables, start=1)]
        _list(book.add_worksheet(LIST_SHEET), tables, names, look)
        for number, (table, name) in enumerate(zip(tables, names, strict=True), start=1):
            _sheet(book.add_worksheet(name), f"Table {number}. {table.title}", table, look)
    return file.getvalue()


def number_in(cell: str) -> tuple[float, str] | None:
    """
    The number that the whole cell is, with the format in which a spreadsheet shows it alike; None for other text.

    >>> number_in("1,204"), number_in("−3.50"), number_in("007"), number_in("3 to 5")
    ((1204.0, '#,##0'), (-3.5, '0.00'), None, None)
    """
    plain = cell.replace("−", "-")
    if not PLAIN_NUMBER.match(plain) or sum(map(str.isdigit, plain)) > MOST_DIGITS:
        return None
    whole, _, decimals = plain.partition(".")
    shown = "#,##0" if "," in whole else "0"
    return float(plain.replace(",", "")), f"{shown}.{'0' * len(decimals)}" if decimals else shown


def _list(sheet: Any, tables: Sequence[Table], names: Sequence[str], look: Any) -> None:
    sheet.set_column(0, 0, 10)
    sheet.set_column(1, 1, 90, look(text_wrap=True))
    _write(sheet, 0, 0, LIST_SHEET, look(bold=True, font_size=14))
    _write(sheet, 1, 0, CARE, look())
    for column, head in enumerate(("Number", "Title")):
        _write(sheet, 3, column, head, look(bold=True, bottom=1))
    for row, (table, name) in enumerate(zip(tables, names, strict=True), start=4):
        label = f"Table {row - 3}"
        sheet.write_url(row, 0, f"internal:'{name}'!A1", look(underline=1, font_color="#005A8C", valign="top"), label)
        _write(sheet, row, 1, table.title, look(text_wrap=True, valign="top"))
    sheet.freeze_panes(4, 0)
    sheet.set_paper(A4)
    sheet.fit_to_pages(1, 0)


def _sheet(sheet: Any, title: str, table: Table, look: Any) -> None:
    widths = list(_widths(table))
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
    _across(sheet, 0, title, widths, look(bold=True, font_size=12, text_wrap=True, valign="top"))
    link = look(underline=1, font_color="#005A8C")
    sheet.write_url(1, 0, f"internal:'{LIST_SHEET}'!A1", link, "List of tables")
    first = _heads(sheet, table, 3, widths, look)
    for row, cells in enumerate(table.rows or (("No rows",),), start=first):
        for column, (about, cell) in enumerate(zip(table.columns, cells, strict=False)):
            _cell(sheet, row, column, about, cell, look)
        sheet.set_row(row, _height(cells, widths))
    for row, note in enumerate(table.notes, start=first + max(1, len(table.rows)) + 1):
        _across(sheet, row, note, widths, look(italic=True, text_wrap=True, valign="top"))
    sheet.freeze_panes(first, 1)
    sheet.repeat_rows(0, first - 1)
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.fit_to_pages(1, 0)


def _heads(sheet: Any, table: Table, top: int, widths: Sequence[float], look: Any) -> int:
    """Write the heads, in two rows where some stand over others, and return the first row below them."""
    bottom = top + 1 if table.spans else top
    for column, over in enumerate(_over(table)):
        about = table.columns[column]
        line = look(bold=True, text_wrap=True, valign="bottom", bottom=1, **_side(about))
        if over == "" and table.spans:
            _merge(sheet, (top, column, bottom, column), about.head, line)
        else:
            _write(sheet, bottom, column, about.head, line)
    sheet.set_row(bottom, _height([column.head for column in table.columns], widths))
    first, wide = 0, []
    for text, width in table.spans:
        if text:
            line = look(bold=True, text_wrap=True, valign="bottom", align="center", bottom=1)
            _merge(sheet, (top, first, top, first + width - 1), text, line)
        wide.append(sum(widths[first : first + width]))
        first += width
    if table.spans:
        sheet.set_row(top, _height([text for text, _ in table.spans], wide))
    return bottom + 1


def _over(table: Table) -> list[str]:
    """The head that spans each column, "" where none does."""
    return [text for text, width in table.spans or (("", len(table.columns)),) for _ in range(width)]


def _cell(sheet: Any, row: int, column: int, about: Column, cell: str, look: Any) -> None:
    found = number_in(cell)
    if found:
        sheet.write_number(row, column, found[0], look(num_format=found[1], align="right", valign="top"))
    else:
        _write(sheet, row, column, cell, look(text_wrap=True, valign="top", **_side(about)))


def _side(column: Column) -> dict[str, Any]:
    """The side on which a column lines up; the indent keeps text off the number at its left."""
    return {"align": "right"} if column.align == "right" else {"align": "left", "indent": 1}


def _merge(sheet: Any, place: tuple[int, int, int, int], text: str, line: Any) -> None:
    top, left, bottom, right = place
    if (top, left) != (bottom, right):
        sheet.merge_range(top, left, bottom, right, "", line)
    _write(sheet, top, left, text, line)


def _write(sheet: Any, row: int, column: int, text: str, line: Any) -> None:
    if text:
        sheet.write_string(row, column, NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", text), line)
    else:
        sheet.write_blank(row, column, None, line)


def _across(sheet: Any, row: int, text: str, widths: Sequence[float], line: Any) -> None:
    """Write a text over all columns of the table, and over empty ones beside a narrow table."""
    last, room = len(widths) - 1, sum(widths)
    while room < NOTE_WIDTH:
        last, room = last + 1, room + DEFAULT
    _merge(sheet, (row, 0, row, last), text, line)
    sheet.set_row(row, _height([text], [room]))


def _widths(table: Table) -> Iterator[float]:
    """Characters for each column: its longest cell, and the longest word of its head."""
    for place, column in enumerate(table.columns):
        cells = [len(line) for row in table.rows for line in row[place].splitlines()]
        widest = max([*cells, *map(len, column.head.split())], default=0)
        yield min(max(widest + 3, NARROWEST), WIDEST)


def _height(texts: Sequence[str], widths: Sequence[float]) -> int:
    """Points for the tallest text, since not every spreadsheet program finds the height of wrapped text itself."""
    lines = (
        sum(len(wrap(line, max(1, int(width) - 3))) or 1 for line in text.splitlines())
        for text, width in zip(texts, widths, strict=False)
    )
    return min(max(1, *lines) * LINE_HEIGHT, TALLEST)


def _sheet_name(number: int, title: str) -> str:
    """
    A name that a spreadsheet takes; the number makes it the only one.

    >>> _sheet_name(3, "Take of 75 % or more: by location and by method")
    '3 Take of 75 % or more by locat'
    """
    return f"{number} {NOT_IN_SHEET_NAME.sub('', title)}"[:LONGEST_SHEET_NAME].strip()


def _looks(book: Any) -> Any:
    """Formats by their properties, each made once."""

    @cache
    def look(**properties: Any) -> Any:
        return book.add_format(properties)

    return look
