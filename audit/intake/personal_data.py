"""Values that look as if they name or reach a person, or identify an animal outside the practice."""

import datetime as dt
import re
from collections.abc import Iterator

from audit.intake.faults import Problem

_DATE = re.compile(
    r"\b(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2}))\b(?:[ T]\d{1,2}(?::\d{2}){0,2})?"
)
_EMAIL = re.compile(r"[\w.+-]+@[\w-]+\.[\w.-]*\w")
_WEB = re.compile(r"\b(?:https?://|www\.)\S+", re.IGNORECASE)
_CHIP = re.compile(r"(?<![\d.,])\d{3}[ -]?(?:\d{12}|\d{4}[ -]\d{4}[ -]\d{4}|\d{3}[ -]\d{3}[ -]\d{3}[ -]\d{3})(?!\d)")
_PHONE = re.compile(r"(?<![\w.])(?<!\d,)\+?\(?\d(?:[ ()/-]{0,2}\d){8,14}(?![\w.])")
_POSTCODE = re.compile(
    r"\b(?:[A-Z]{1,2}\d[A-Z\d]? ?\d[A-Z]{2}|\d{4} ?[A-Z]{2}|(?:A|B|CH|D|DK|E|F|FIN|I|L|N|NL|P|PL|S)-\d{4,5})\b"
)


def personal(raw: object, *, is_key: bool = False) -> Iterator[Problem]:
    """
    What in this cell looks personal.

    A number or code given out by the practice (`is_key`) may look like a telephone number or a postcode, and is
    replaced anyway; there only what is never such a number is looked for.

    >>> [problem.check for problem in personal("seen 12/03/2024, ring 01632 960 983")]
    ['telephone']
    """
    if raw is None or isinstance(raw, bool | dt.date | dt.time):
        return
    if isinstance(raw, float) and raw.is_integer() and abs(raw) < 1e18:
        raw = int(raw)
    text = _DATE.sub(" ", str(raw))
    if _EMAIL.search(text):
        yield _problem("e_mail", "an e-mail address")
    elif _WEB.search(text):
        yield _problem("web_address", "a web address")
    if _CHIP.search(text):
        yield _problem("microchip", "a microchip number (15 digits)")
    elif not is_key and isinstance(raw, str | int) and _PHONE.search(text):
        yield _problem("telephone", "a telephone number")
    if not is_key and _POSTCODE.search(text):
        yield Problem("postcode", "the cell holds what looks like a postcode", "Remove it if it is one", "warning")


def _problem(check: str, what: str) -> Problem:
    return Problem(check, f"the cell holds what looks like {what}", "Remove it; nothing here needs it")
