"""Cells that an invented practice left blank or answered with a word, since no real workbook is complete."""

from collections.abc import Sequence

import numpy as np

from audit import dictionary
from audit.dictionary import Field
from synthetic_data.sheets import Row

KEPT = {
    "is_repeat",
    "uncertain_pct",
    "loss_depth",
    "open_area_cm2",
    "class",
    "infection_basis",
    "wound_date",
    "scheduled",
}
"""Fields beside the core ones that are never blanked: other cells of the row would no longer make sense."""

_FILLED = {True: 0.72, False: 0.9}
_IN_WORDS = 0.25


def with_blanks(rng: np.random.Generator, sheet: str, rows: Sequence[Row]) -> tuple[Row, ...]:
    """
    The rows with some cells empty and some `not_recorded`: more where a field is merely wanted, none in the core.

    Every field of the sheet is named in every row, None where the cell is empty.
    """
    fields = dictionary.table(sheet).fields
    return tuple({field.name: _kept(rng, field, row.get(field.name)) for field in fields} for row in rows)


def _kept(rng: np.random.Generator, field: Field, value: object) -> object:
    if value is None or field.core or field.name in KEPT or rng.random() < _FILLED[field.wanted]:
        return value
    return "not_recorded" if rng.random() < _IN_WORDS else None
