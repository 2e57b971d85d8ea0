"""The data dictionary as rows for printing: every field, and every word that may stand in one."""

import csv
import io
from collections.abc import Sequence

from audit.codes import ABSENCES
from audit.dictionary import SHEETS, Field
from audit.intake.template import unit

Rows = list[dict[str, str]]


def field_rows() -> Rows:
    """One row a field: where it stands, what it means, its kind, unit and range, what it becomes, why it is asked."""
    return [
        {
            "sheet": table.title, "heading": field.heading, "stored as": field.column, "term": field.term,
            "kind": field.kind.replace("_", " "), "unit": unit(field), "range": _span(field), "asked": _asked(field),
            "becomes": _becomes(field), "why": field.why,
        }
        for table in SHEETS for field in table.fields
    ]  # fmt: skip


def code_rows() -> Rows:
    """One row an allowed word: as typed, as stored, its meaning, and the group that it is counted in."""
    listed = [
        {
            "sheet": table.title, "heading": field.heading, "word": code.name.replace("_", " "), "code": code.name,
            "meaning": code.label, "counted with": code.group.replace("_", " "),
        }
        for table in SHEETS for field in table.fields for code in field.codes
    ]  # fmt: skip
    absent = [
        {
            "sheet": "every sheet", "heading": "every column but the keys", "word": code.name.replace("_", " "),
            "code": code.name, "meaning": code.label, "counted with": code.group,
        }
        for code in ABSENCES
    ]  # fmt: skip
    return listed + absent


def as_csv(rows: Sequence[dict[str, str]]) -> str:
    """The rows as CSV, with a byte-order mark so that a spreadsheet reads them as UTF-8."""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return "\ufeff" + text.getvalue()


def as_markdown(rows: Sequence[dict[str, str]]) -> str:
    """
    The rows as a Markdown table.

    >>> print(as_markdown([{"word": "a|b"}]))
    | word |
    | --- |
    | a\\|b |
    """
    heads = list(rows[0])
    lines = [heads, ["---"] * len(heads), *([row[head].replace("|", "\\|") for head in heads] for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _span(field: Field) -> str:
    if field.low is None or field.high is None:
        return ""
    days = "day " if field.kind == "date" else ""
    usual = f" (common: {field.warn[0]:g} to {field.warn[1]:g})" if field.warn else ""
    return f"{days}{field.low:g} to {field.high:g}{usual}"


def _asked(field: Field) -> str:
    if field.must:
        return "always"
    if field.default:
        return f"blank means {field.default}"
    return "short card" if field.core else "wanted" if field.wanted else "if known"


def _becomes(field: Field) -> str:
    if field.kept_as == "month":
        return "month and running order"
    return {"animal": "code", "staff": "code", "photo": "code", "date": "day from surgery", "none": ""}[field.identity]
