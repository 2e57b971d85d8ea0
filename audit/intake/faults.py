"""What is wrong with a workbook: where, which value, in one sentence, and what to do about it."""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from rapidfuzz import fuzz, process

Severity = Literal["error", "warning"]

_LONGEST = 40


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with a value, before its place is known. `check` names the rule that found it."""

    check: str
    sentence: str
    remedy: str
    severity: Severity = "error"


@dataclass(frozen=True, slots=True)
class Fault:
    """
    One problem in its place. An error keeps the workbook out; a warning lets it in.

    `row` is the row of the sheet (None for a whole sheet or file), `column` the heading as typed, `cell` like `E4`.
    """

    severity: Severity
    sheet: str
    row: int | None
    column: str
    cell: str
    value: str
    sentence: str
    remedy: str
    check: str

    def __str__(self) -> str:
        row = "" if self.row is None else f"row {self.row}"
        place = ", ".join(part for part in (self.sheet, row, self.column) if part)
        cell = f" ({self.cell})" if self.cell else ""
        return f"{place or 'the file'}{cell}: {self.sentence}. {self.remedy}."


def fault(problem: Problem, *, sheet: str = "", row: int | None = None, column: str = "", letter: str = "",
          value: str = "") -> Fault:  # fmt: skip
    """The problem in its place; `letter` is the column of the spreadsheet."""
    cell = f"{letter}{row}" if letter and row else ""
    return Fault(problem.severity, sheet, row, column, cell, value, problem.sentence, problem.remedy, problem.check)


def folded(text: str) -> str:
    """
    The text as it is compared: case, spaces, hyphens and underscores do not tell words apart.

    >>> folded(" Sheet-Full ")
    'sheet_full'
    """
    return re.sub(r"[\s_-]+", "_", unicodedata.normalize("NFKC", text).strip().casefold()).strip("_")


def shown(value: object) -> str:
    """The value as a message quotes it: on one line and not endless."""
    text = " ".join(str(value).split())
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def masked(value: object) -> str:
    """
    The value with only its first character readable, for messages about personal data.

    >>> masked("ann@example.org")
    'a… (15 characters)'
    """
    text = str(value).strip()
    return f"{text[:1]}… ({len(text)} characters)"


def nearest(word: str, words: Iterable[str]) -> tuple[str, ...]:
    """
    The allowed word most like this one, two when they tie, none when nothing is like it.

    >>> nearest("mesh", ["mesh full", "mesh split", "strip"])
    ('mesh full', 'mesh split')
    """
    found = process.extract(folded(word), list(words), scorer=fuzz.WRatio, processor=folded, score_cutoff=60, limit=2)
    return tuple(match for match, score, _ in found if score == found[0][1])


def did_you_mean(word: str, words: Iterable[str], otherwise: str) -> str:
    """A remedy that offers the nearest allowed words, or the other advice when none is near."""
    close = nearest(word, words)
    return (
        f"Did you mean {' or '.join(close)}? Choose it yourself; nothing is corrected for you" if close else otherwise
    )
