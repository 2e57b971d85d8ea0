"""What every statistic asks of its arguments: one wording for each fault, and arrays to work on."""

from collections.abc import Sized

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audit.errors import AuditError, EmptyGroup

NO_CASES = ("the group has no cases", "widen the dates or leave the group out")
Array = NDArray[np.float64]


def level(value: float) -> float:
    """A confidence level above 0.5 and under 1; AuditError for 95 or 0.05."""
    if not 0.5 < value < 1:
        raise AuditError(f"a confidence level lies between 0.5 and 1, not at {value:g}", "write 95 % as 0.95")
    return value


def share(value: float, what: str = "a quantile") -> float:
    """A number between 0 and 1, neither included."""
    if not 0 < value < 1:
        raise AuditError(f"{what} lies between 0 and 1, not at {value:g}", "write a half as 0.5")
    return value


def a_day(value: float, what: str = "a day") -> float:
    """One finite day, not before surgery."""
    if not 0 <= value < np.inf:
        raise AuditError(f"{what} is 0 or later, not {value:g}", "count days from surgery")
    return value


def numbers(values: ArrayLike, what: str, *, low: float = -np.inf, high: float = np.inf) -> Array:
    """One number a row from `low` to `high`; AuditError where one is missing, is no number or lies outside."""
    array = as_numbers(values, what)
    if array.ndim != 1:
        raise AuditError(f"{what}: an array of shape {array.shape} has not one number a row", "give one column")
    refuse_rows(np.isnan(array), f"no {what}", "leave the cases without it out by name, and count them")
    wrong = (array < low) | (array > high)
    if wrong.any():
        row, limits = int(np.argmax(wrong)), f"from {low:g} to {high:g}" if np.isfinite(high) else f"{low:g} or above"
        raise AuditError(f"row {row}: {what} {array[row]:g} is not {limits}", "mend the record")
    return array


def as_numbers(values: ArrayLike, what: str) -> Array:
    """An array of numbers of any shape, NaN where one is missing."""
    try:
        return np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise AuditError(f"{what}: not all are numbers", "give numbers, all rows of one length") from None


def days(values: ArrayLike, what: str = "day") -> Array:
    """One finite day a row, not before surgery."""
    array = numbers(values, what, low=0.0)
    refuse_rows(np.isinf(array), f"the {what} is infinite", "give the last day seen, and say that it is no event")
    return array


def truths(values: ArrayLike, what: str) -> Array:
    """0 or 1 for each row, from numbers or from true and false."""
    array = numbers(values, what)
    refuse_rows(
        (array != 0) & (array != 1), f"the {what} is not 0 or 1", "leave out cases that cannot be told, and count them"
    )
    return array


def weights(values: ArrayLike | None, rows: int) -> Array:
    """How many cases each row stands for; one each where left out."""
    if values is None:
        return np.ones(rows)
    array = as_numbers(values, "weight")
    same_length(rows=np.empty(rows), weight=array)
    if (~((array >= 0) & (array < np.inf))).any():
        raise AuditError("a weight is negative or missing", "give how many cases each row stands for")
    return array


def names(values: ArrayLike, what: str) -> NDArray:
    """One name a row, as given; AuditError where one is missing or text and numbers are mixed."""
    array = np.asarray(values)
    if array.ndim != 1:
        raise AuditError(f"{what}: an array of shape {array.shape} has not one name a row", "give one column")
    # In a list, NaN among names becomes the text "nan" where numpy makes text of all of them.
    given = np.asarray(values, dtype=object) if array.dtype.kind in "US" else array
    refuse_rows(_missing(given), f"no {what}", f"name the {what} of every row")
    if array.dtype == object and len({isinstance(name, str) for name in array}) > 1:
        raise AuditError(f"{what}: some are text and some are numbers", "write all of them as text")
    return array


def animals(values: ArrayLike | None, rows: int) -> NDArray[np.int64]:
    """The animal of each row as a number from 0, in the order of their names; each row its own where left out."""
    if values is None:
        return np.arange(rows)
    array = names(values, "animal")
    same_length(rows=np.empty(rows), animal=array)
    return np.unique(array, return_inverse=True)[1]


def same_length(**columns: Sized) -> None:
    """AuditError where columns differ in length, with the length of each."""
    sizes = {name: len(column) for name, column in columns.items()}
    if len(set(sizes.values())) > 1:
        raise AuditError(
            f"{', '.join(sizes)} differ in length: {', '.join(map(str, sizes.values()))}", "give one entry a row"
        )


def not_empty(cases: float, reason: tuple[str, str] = NO_CASES) -> None:
    """EmptyGroup, with this reason and advice, where there is nothing to count."""
    if not cases:
        raise EmptyGroup(*reason)


def refuse_rows(wrong: NDArray[np.bool_], fault: str, advice: str) -> None:
    """AuditError that names the first row where `wrong` holds."""
    if wrong.any():
        raise AuditError(f"row {int(np.argmax(wrong))}: {fault}", advice)


def _missing(array: NDArray) -> NDArray[np.bool_]:
    if array.dtype == object:
        return np.array([name is None or name != name or str(name) in ("<NA>", "NaT") for name in array], dtype=bool)
    return np.isnan(array) if array.dtype.kind in "fc" else np.zeros(len(array), dtype=bool)
