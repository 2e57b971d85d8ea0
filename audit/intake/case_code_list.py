"""The practice's own list of which patient number has which case code: private, and never part of an export."""

import csv
import os
from pathlib import Path

from audit.errors import WorkbookError
from audit.intake.check_workbook import Intake


def write_case_codes(path: Path, intake: Intake) -> None:
    """
    Write patient number, case code and day of surgery as CSV that only its owner can read.

    An earlier list at that place is replaced whole. Raises WorkbookError when it cannot be written.
    """
    numbers = dict(intake.links)
    rows = sorted((_inert(numbers.get(case[:12], "")), case, day.isoformat()) for case, day in intake.surgery.items())
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w", encoding="utf-8-sig", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(("patient number", "case code", "surgery date"))
            writer.writerows(rows)
        draft.replace(path)
    except OSError as error:
        raise WorkbookError(f"the list of case codes cannot be written to {path} ({error.strerror})") from None


def _inert(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would take it for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text
