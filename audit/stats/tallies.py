"""The one pass over the rows: how many cases of each kind there are on each distinct day."""

import numpy as np
from numpy.typing import NDArray

GRID = 10_000  # whole days up to here are counted without sorting
BLOCK, SORTED_BLOCK = 65_536, 16_384  # rows at a time, so that the work stays in the processor's cache
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
    if day.max() <= GRID and (np.issubdtype(day.dtype, np.integer) or (day == np.floor(day)).all()):
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
        key = place[rows].astype(np.int64) * kinds + kind[rows]
        table += np.bincount(key, None if weight is None else weight[rows], len(table))
    return table.reshape(days, kinds)


def _ordinary(day: NDArray) -> bool:
    positive = day[day > 0]
    return not len(positive) or (positive.min() >= ORDINARY[0] and positive.max() < ORDINARY[1])


def _sorted(day: NDArray, kind: NDArray, kinds: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # Days that are not negative sort like their bits; adding 0 turns -0.0 into 0.0.
    packed = np.multiply(day, SCALE, dtype=float)
    packed += 0.0
    keys = packed.view(np.uint64)
    keys <<= BITS
    keys |= kind.astype(np.uint8)
    keys.sort()
    distinct, table = np.empty(len(keys)), np.zeros((len(keys), kinds))
    found, last = 0, ~keys[0]
    for begin in range(0, len(keys), SORTED_BLOCK):
        part = keys[begin : begin + SORTED_BLOCK]
        bits = part >> BITS
        is_new = np.concatenate(([last], bits[:-1])) != bits
        place = np.cumsum(is_new) + (found - 1)
        first, found, last = place[0], int(place[-1]) + 1, bits[-1]
        key = (place - first) * kinds + (part & (2**BITS - 1)).view(np.int64)
        table[first:found] += np.bincount(key, minlength=(found - first) * kinds).reshape(-1, kinds)
        distinct[place[is_new]] = bits[is_new].view(np.float64)
    return distinct[:found] / SCALE, table[:found]
