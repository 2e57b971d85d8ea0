"""One invented reconstruction from fate to file: when it was looked at, why its record ends, and what it is."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil, inf

import numpy as np

from audit.codes import FREE_GRAFTS
from synthetic_data.schedule import Examination, examinations
from synthetic_data.signalment import Signalment, Wound
from synthetic_data.truth import GROUP, Fate, Planted

LOCK_DAY = 150
_AFTER_HEALING = ("died_unrelated", "euthanased_other", "amputated_other")


@dataclass(frozen=True, slots=True)
class Course:
    """The examinations of a reconstruction, the day first seen healed (None: never), and how its record ends."""

    examinations: tuple[Examination, ...]
    seen_healed: int | None
    exit_reason: str
    exit_day: int

    @property
    def last_open(self) -> int:
        """The day of the last examination before it was seen healed, 0 when there was none."""
        return max(
            (examination.day for examination in self.examinations if examination.day < (self.seen_healed or inf)),
            default=0,
        )


@dataclass(frozen=True, slots=True)
class Case:
    """One reconstruction with all that its rows are written from."""

    patient: str
    wound_letter: str
    operation: int
    animal: Signalment
    wound: Wound
    planned_method: str
    method: str
    surgery: date
    fate: Fate
    course: Course

    @property
    def key(self) -> dict[str, object]:
        """The three columns that name the reconstruction."""
        return {
            "patient_number": self.patient,
            "wound_letter": self.wound_letter,
            "operation_number": self.operation,
        }

    @property
    def group(self) -> str:
        """The broader class of the method."""
        return GROUP[self.method]

    @property
    def is_free_graft(self) -> bool:
        """Whether the method is a free graft."""
        return self.group in FREE_GRAFTS

    def on(self, day: int) -> date:
        """The calendar date of a day after surgery."""
        return self.surgery + timedelta(days=day)


def ended(fate: Fate, reason: str, day: int) -> Fate:
    """The same reconstruction ended by that reason on that day, before it could heal."""
    failed = reason in ("re_grafted", "converted_other_method", "amputated_wound", "died_related")
    return replace(
        fate,
        took=fate.took and not failed,
        viable_pct=min(fate.viable_pct, 40.0) if failed else fate.viable_pct,
        heals_on=inf if failed else max(fate.heals_on, day + 1.0),
        leaves=reason,
        leaves_on=day,
    )


def draw_course(rng: np.random.Generator, planted: Planted, fate: Fate) -> Course:
    """
    Examine a reconstruction by the practice's schedule until it is healed and confirmed, it leaves, or the data lock.

    A healed wound is mostly looked at again a week or more later, and about half are seen once more from day 90.
    """
    seen = examinations(rng, planted.schedule, until=min(fate.leaves_on, LOCK_DAY), prompted=planted.prompted)
    healed = next((examination.day for examination in seen if examination.day >= fate.heals_on), None)
    if healed is None:
        return _unhealed(seen, fate)
    confirming = next((examination for examination in seen if examination.day >= healed + 7), None)
    kept = [examination for examination in seen if examination.day <= healed]
    if confirming and rng.random() < 0.85:
        kept.append(confirming)
    late = int(rng.integers(max(90, kept[-1].day + 14), 181))
    if late < fate.leaves_on and rng.random() < 0.6:
        kept.append(Examination(late))
    last = kept[-1].day
    followed = last >= healed + 7
    if fate.leaves in _AFTER_HEALING and fate.leaves_on < 180:
        return Course(tuple(kept), healed, fate.leaves, max(last, ceil(fate.leaves_on)))
    return Course(tuple(kept), healed, "healed_and_followed" if followed else "healed_then_lost", last)


def _unhealed(seen: tuple[Examination, ...], fate: Fate) -> Course:
    last = seen[-1].day if seen else 0
    if fate.leaves == "lost" and fate.leaves_on <= LOCK_DAY:
        return Course(seen, None, "lost_before_healing", last)
    if fate.leaves and fate.leaves_on <= LOCK_DAY:
        return Course(seen, None, fate.leaves, max(last, ceil(fate.leaves_on)))
    return Course(seen, None, "still_open_at_lock", max(last, LOCK_DAY))
