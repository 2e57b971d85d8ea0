"""A table as a CSV file, safe to open in a spreadsheet."""

import csv
import io
import re
from pathlib import Path

from reports.document import Table

NUMBER = re.compile(r"[+-]?(\d[\d,]*(\.\d+)?|\.\d+)(e[+-]?\d+)?( ?%)?\Z", re.IGNORECASE)
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def to_csv(table: Table) -> bytes:
    """
    The heads and rows as UTF-8 with a byte-order mark, which spreadsheets need to read accents rightly.

    Text that a spreadsheet would run as a formula gets an apostrophe before it; numbers stay numbers.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([harmless(head) for head in _full_heads(table)])
    writer.writerows([harmless(cell) for cell in row] for row in table.rows)
    return text.getvalue().encode("utf-8-sig")


def write_csv(table: Table, folder: Path) -> Path:
    """Write `<id>.csv` into the folder and return its path."""
    path = folder / f"{table.id}.csv"
    path.write_bytes(to_csv(table))
    return path


def harmless(cell: str) -> str:
    """
    The cell as a spreadsheet may have it: numbers plain, an apostrophe before what it would run as a formula.

    >>> harmless("=1+1"), harmless("−3.5"), harmless("-3 to 5")
    ("'=1+1", '-3.5', "'-3 to 5")
    """
    plain = cell.replace("−", "-")
    if NUMBER.match(plain):
        return plain
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell


def _full_heads(table: Table) -> list[str]:
    over = [text for text, width in table.spans or (("", len(table.columns)),) for _ in range(width)]
    return [f"{text}: {column.head}" if text else column.head for text, column in zip(over, table.columns, strict=True)]
