"""What a cell may say: a value, a reason for having none, or a problem."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from audit.dictionary import Field
from audit.intake.faults import Problem

DateOrder = Literal["iso", "day-first", "month-first"]
Value = str | int | float | bool | dt.date | tuple[str, ...]

HOW_ABSENT = "not recorded, not applicable, not assessable or refused"
SAYS_NOTHING = frozenset(
    ("na", "n/a", "n.a.", "nil", "null", "none", "nan", "?", "??", "-", "--", ".", "x", "unknown", "missing")
)
"""What people type for want of a value; it leaves open which of the four reasons holds."""


@dataclass(frozen=True, slots=True)
class Reading:
    """
    What a cell says: a value, or why there is none, or what is wrong with it.

    Blank is all three empty. A value may come with warnings; with an error it is None.
    """

    value: Value | None = None
    absence: str = ""
    problems: tuple[Problem, ...] = ()


ReadCell = Callable[[object], Reading]
MakeReader = Callable[[Field, DateOrder, bool], ReadCell]


def wrong(check: str, sentence: str, remedy: str) -> Reading:
    """A reading with one error."""
    return Reading(problems=(Problem(check, sentence, remedy),))
