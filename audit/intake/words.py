"""Cells with words of a closed list; the nearest are offered, none is ever chosen for the user."""

import re

from audit.codes import ABSENCES, Code
from audit.dictionary import Field
from audit.intake.cell_reading import HOW_ABSENT, SAYS_NOTHING, DateOrder, ReadCell, Reading, wrong
from audit.intake.faults import Problem, did_you_mean, folded, shown
from audit.intake.reading import as_text


def index_of(codes: tuple[Code, ...]) -> dict[str, str]:
    """Folded names and labels to code names; a name wins over another code's label."""
    return {folded(code.label): code.name for code in codes} | {folded(code.name): code.name for code in codes}


def _spoken(words: tuple[str, ...]) -> list[str]:
    return [word.replace("_", " ") for word in words]


def _not_a_word(field: Field, text: str) -> Problem:
    allowed = _spoken(field.words)
    listed = f"Use one of: {', '.join(allowed)}" if len(allowed) <= 8 else "Choose from the list of this column"
    if text.strip().casefold() in SAYS_NOTHING:
        remedy = f"If there is no value, write which: {HOW_ABSENT}"
    else:
        labels = [code.label for code in field.codes if code.label not in allowed]
        remedy = did_you_mean(text, [*allowed, *labels], f"{listed}, or {HOW_ABSENT}")
    return Problem("unknown_word", f"{shown(text)!r} is no word for {field.heading}", remedy)


def code_reader(field: Field, dates: DateOrder, comma: bool) -> ReadCell:
    """Reads one word of a closed list: its code or its label, in any case, with spaces or underscores."""
    index = index_of(field.codes)

    def read(raw: object) -> Reading:
        text = _yes_no_text(raw) if set(field.words) == {"yes", "no"} else as_text(raw)
        word = index.get(folded(text))
        if word is None:
            return Reading(problems=(_not_a_word(field, text),))
        return Reading(word == "yes" if field.kind == "yes_no" else word)

    return read


def _yes_no_text(raw: object) -> str:
    return {True: "yes", False: "no"}[raw] if isinstance(raw, bool) else as_text(raw)


def codes_reader(field: Field, dates: DateOrder, comma: bool) -> ReadCell:
    """Reads several words of a closed list, parted by semicolons, commas or line breaks."""
    index = index_of(field.codes)
    absences = index_of(ABSENCES)

    def read(raw: object) -> Reading:
        parts = [part for part in re.split(r"[;,|\n]", as_text(raw)) if part.strip()]
        if any(folded(part) in absences for part in parts):
            return wrong("absence_among_words", f"{shown(raw)!r} says that there is a value and that there is none",
                          "Keep the values or the one word for their absence")  # fmt: skip
        problems = tuple(_not_a_word(field, part.strip()) for part in parts if folded(part) not in index)
        words = {index[folded(part)] for part in parts if folded(part) in index}
        if "none" in words and len(words) > 1:
            problems += (Problem("none_among_words", f"{shown(raw)!r} says none and something",
                                 "Remove 'none' or the others"),)  # fmt: skip
        if problems or not words:
            return Reading(problems=problems or (_not_a_word(field, as_text(raw)),))
        return Reading(tuple(word for word in field.words if word in words))

    return read
