"""The one pass over the rows: how many cases of each kind there are on each distinct day."""

import numpy as np
from numpy.typing import NDArray

GRID = 10_000  # whole days up to here are counted without sorting
BLOCK = 65_536  # rows at a time, so that the work stays in the processor's cache
BITS = 5  # freed at the top of a day's bits by SCALE, for its kind
SCALE = 2.0**-960
ORDINARY = (2.0**-60, 2.0**60)  # days whose scaling is exact


def day_table(
    day: NDArray, kind: NDArray, kinds: int, weight: NDArray[np.float64] | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """
    Distinct days in order, and a table (days, kinds) of the cases, or of their weights, on each.

    `day` is finite and not negative, `kind` a whole number from 0 to `kinds` - 1, one of each a row. Whole days take
    one counting pass, other days a sort of day and kind packed into one number.

    >>> day_table(np.array([3, 1, 3]), np.array([0, 1, 1]), 2)
    (array([1., 3.]), array([[0., 1.], [1., 1.]]))
    """
    if np.issubdtype(day.dtype, np.integer) and day.max() <= GRID:
        distinct = np.arange(int(day.max()) + 1, dtype=float)
        table = _counted(day, kind, kinds, weight, len(distinct))
    elif weight is None and kinds <= 2**BITS and _ordinary(day):
        return _sorted(day, kind, kinds)
    else:
        distinct, place = np.unique(day.astype(float), return_inverse=True)
        table = _counted(place, kind, kinds, weight, len(distinct))
    seen = table.sum(axis=1) > 0
    return distinct[seen], table[seen]


def _counted(place: NDArray, kind: NDArray, kinds: int, weight: NDArray | None, days: int) -> NDArray[np.float64]:
    table = np.zeros(days * kinds)
    step = BLOCK if len(table) < BLOCK else len(place)
    for begin in range(0, len(place), step):
        rows = slice(begin, begin + step)
        key = np.multiply(place[rows], kinds, dtype=np.int64) + kind[rows]
        table += np.bincount(key, None if weight is None else weight[rows], len(table))
    return table.reshape(days, kinds)


def _ordinary(day: NDArray) -> bool:
    positive = day[day > 0]
    return not len(positive) or (positive.min() >= ORDINARY[0] and positive.max() < ORDINARY[1])


def _sorted(day: NDArray, kind: NDArray, kinds: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # Days that are not negative sort like their bits; adding 0 turns -0.0 into 0.0.
    packed = ((day.astype(float) + 0.0) * SCALE).view(np.uint64) << BITS
    packed |= kind.astype(np.uint64)
    packed.sort()
    bits = packed >> BITS
    is_new = np.concatenate(([True], bits[1:] != bits[:-1]))
    place = np.cumsum(is_new) - 1
    key = place * kinds + (packed & (2**BITS - 1)).astype(np.int64)
    table = np.bincount(key, minlength=(int(place[-1]) + 1) * kinds).astype(float)
    return bits[is_new].view(np.float64) / SCALE, table.reshape(-1, kinds)
