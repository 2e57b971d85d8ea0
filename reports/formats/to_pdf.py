"""A report or a manuscript as a tagged PDF: fonts embedded, nothing of the system's used, same bytes each time."""

import json
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import matplotlib
import typst

from reports.document import Report
from reports.prose import Manuscript

TEMPLATES = Path(__file__).with_name("templates")
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
# The last holds a box for each block of characters: better than no PDF when a name is in Chinese.
FAMILIES = ("STIXGeneral", "DejaVu Serif", "DejaVu Sans", "Last Resort High-Efficiency")
UNPRINTABLE = {"Cc", "Cn", "Co", "Cs"}


def report_pdf(report: Report, drawings: Mapping[str, str]) -> bytes:
    """
    The report on A4 pages, numbered as the HTML page is; the lists of cases behind each number stand only there.

    `drawings` holds the SVG of each figure by its identifier (see draw.draw); raises KeyError when one is missing.
    """
    return _compiled("report.typ", report=report, drawings={part.id: drawings[part.id] for part in report.figures})


def manuscript_pdf(manuscript: Manuscript, drawings: Mapping[str, str]) -> bytes:
    """
    The manuscript as journals ask: double spaced, lines and pages numbered; A4, or US Letter in American spelling.

    `drawings` holds the SVG of each figure by its identifier (see draw.draw); raises KeyError when one is missing.
    """
    return _compiled(
        "manuscript.typ",
        manuscript=manuscript,
        labels=manuscript.labels,
        drawings={part.id: drawings[part.id] for part in manuscript.figures},
    )


def _compiled(template: str, **data: Any) -> bytes:
    """The template filled with data, which go in as JSON and so are never read as Typst."""
    written: bytes = typst.compile(  # type: ignore[misc]
        TEMPLATES / template,
        root=TEMPLATES,
        font_paths=[str(FONTS)],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(_plain({"fonts": FAMILIES, **data}), ensure_ascii=False)},
        pdf_standards=["ua-1"],
    )
    return written


def _plain(value: Any) -> Any:
    """The value as JSON has it: a record becomes its fields, with its kind; a plot is left out."""
    if isinstance(value, str):
        return _printable(value)
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if is_dataclass(value):
        names = (field.name for field in fields(value) if field.name != "plot")
        return {"kind": type(value).__name__.lower()} | {name: _plain(getattr(value, name)) for name in names}
    return value


def _printable(text: str) -> str:
    """The text without characters that no font has, and with no per cent sign at the start of a line."""
    letters = set(text) - {"\n", "\t"}
    lost = {letter for letter in letters if unicodedata.category(letter) in UNPRINTABLE}
    kept = text.translate({ord(letter): "\N{REPLACEMENT CHARACTER}" for letter in lost}) if lost else text
    return re.sub(r"(?<=\d) %", "\N{NO-BREAK SPACE}%", kept)
