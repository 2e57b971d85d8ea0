"""From what was typed in a cell to a value, an absence or a problem; never an exception and never a guess."""

from audit.codes import ABSENCES
from audit.dictionary import Field
from audit.intake.cell_reading import DateOrder, MakeReader, ReadCell, Reading, wrong
from audit.intake.dates import date_reader
from audit.intake.faults import Problem, folded, shown
from audit.intake.identifiers import key_reader, token_reader
from audit.intake.numbers import number_reader
from audit.intake.reading import Odd
from audit.intake.words import code_reader, codes_reader, index_of

_READERS: dict[str, MakeReader] = {
    "key": key_reader, "token": token_reader, "code": code_reader, "codes": codes_reader, "yes_no": code_reader,
    "whole": number_reader, "number": number_reader, "date": date_reader,
}  # fmt: skip


def reader(field: Field, *, dates: DateOrder = "iso", comma: bool = False, may_be_absent: bool = True) -> ReadCell:
    """
    The function that reads cells of this field.

    `dates` is the order in which text dates are written, `comma` allows a decimal comma, `may_be_absent` allows the
    words that stand for a missing value.

    >>> from audit.dictionary import table
    >>> reader(table("visits")["viable_pct"])(140).problems[0].sentence
    '140 is outside 0 to 100 %'
    """
    read = _READERS[field.kind](field, dates, comma)
    absences = index_of(ABSENCES)

    def read_cell(raw: object) -> Reading:
        if raw is None or (isinstance(raw, str) and not raw.strip()):
            return Reading()
        if isinstance(raw, Odd):
            return Reading(problems=(_odd(raw),))
        if isinstance(raw, str) and (absence := absences.get(folded(raw))):
            if may_be_absent:
                return Reading(absence=absence)
            return wrong(
                "key_is_absent", f"{shown(raw)!r} cannot stand here, where rows are told apart", "Give the value"
            )
        return read(raw)

    return read_cell


def _odd(cell: Odd) -> Problem:
    if cell.why == "formula":
        return Problem("formula_without_value", f"the formula {shown(cell)} was never worked out",
                       "Open and save the file in the spreadsheet program, or type the value")  # fmt: skip
    if cell.why == "percentage":
        return Problem("percentage_format", f"the cell is formatted as a percentage and shows {shown(cell)}",
                       "Format it as a plain number and type the number without a per cent sign")  # fmt: skip
    return Problem(
        "spreadsheet_error",
        f"the cell holds the spreadsheet's error {shown(cell)}",
        "Type the value, or leave it blank",
    )
