"""What every model asks of its covariates: a full design, and events enough for each coefficient."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audit.errors import AuditError, TooFewData
from audit.stats import checked

FEWEST_EVENTS = 5  # a coefficient


def enough_events(events: int, coefficients: int, fewest: int, of: str) -> None:
    """Refuse a model (TooFewData) with fewer than `fewest` events a coefficient; `of` says what the events are."""
    if events < fewest * coefficients:
        raise TooFewData(
            f"{events} events {of} for {coefficients} coefficients; a model needs {fewest} a coefficient, "
            f"{fewest * coefficients} in all",
            "leave covariates out, or describe the cases without a model",
            joint=": ",
        )


def design(covariates: ArrayLike, names: Sequence[str], rows: int) -> NDArray[np.float64]:
    """Covariates (rows, names) with an intercept put first. Raises AuditError where shapes differ or one is missing."""
    x = checked.as_numbers(covariates, "covariates")
    if x.shape != (rows, len(names)):
        raise AuditError(f"covariates are {x.shape}, not (rows, names) = {(rows, len(names))}", "give a column a name")
    if not np.isfinite(x).all():
        row, column = np.argwhere(~np.isfinite(x))[0]
        raise AuditError(f"row {row}: no {names[column]}", "leave cases without it out, and count them")
    return np.column_stack((np.ones(rows), x))


def refuse_repeats(x: NDArray, names: Sequence[str]) -> None:
    """Raise AuditError where the columns of a design do not tell the covariates apart."""
    scale = np.abs(x).max(axis=0)
    if len(x) == 0 or np.linalg.matrix_rank(x / np.where(scale > 0, scale, 1.0)) < x.shape[1]:
        raise AuditError(f"the covariates {', '.join(names)} repeat one another or do not vary", "leave one out")
