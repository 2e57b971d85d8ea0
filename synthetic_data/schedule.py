"""When an invented practice examines its grafts: planned days, a day early or late at times, and prompted visits."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

SCHEDULES = {
    "dense": (*range(2, 11, 2), *range(14, 31, 4), *range(37, 366, 7)),
    "weekly": tuple(range(7, 366, 7)),
    "sparse": (*range(3, 13, 3), *range(28, 366, 14)),
}
"""Planned days: every 2 to day 10, every 4 to day 30, then weekly; weekly; every 3 to day 12, then day 28, 42, ..."""


@dataclass(frozen=True, slots=True)
class Examination:
    """A day on which the animal is seen, and whether that was planned or prompted by trouble."""

    day: int
    scheduled: str = "scheduled"


def examinations(
    rng: np.random.Generator, schedule: str, *, until: float, prompted: float = 0.0
) -> tuple[Examination, ...]:
    """
    The examinations of one reconstruction up to a day, in order, at most one a day.

    A planned day moves a day early or late one time in three each; in `prompted` of the gaps that leave room a prompted
    visit is put between.
    """
    planned: list[int] = []
    for day in SCHEDULES[schedule]:
        moved = day + int(rng.integers(-1, 2))
        if moved > until:
            break
        planned.append(max(moved, planned[-1] + 1) if planned else max(moved, 1))
    kept = [day for day in planned if day <= until]
    between = [
        Examination(int(rng.integers(early + 1, late)), "prompted")
        for early, late in pairwise(kept)
        if late - early > 1 and rng.random() < prompted
    ]
    return tuple(sorted([*(Examination(day) for day in kept), *between], key=lambda examination: examination.day))
