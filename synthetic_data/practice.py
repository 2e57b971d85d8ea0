"""
A whole invented practice: the rows of its workbook, and the truth behind every row.

Everything here is made up: animals, numbers, dates and outcomes. Nothing can be learnt from it about real grafts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np

from audit import dictionary
from synthetic_data import sheets
from synthetic_data.blanks import with_blanks
from synthetic_data.cases import Case, draw_course, fails_on
from synthetic_data.ratings import score_rows
from synthetic_data.sheets import Row
from synthetic_data.signalment import draw_animal, draw_wound, pick
from synthetic_data.troubles import complication_rows
from synthetic_data.truth import FREE_GRAFTS, GROUP, Fate, Planted, draw_fate
from synthetic_data.visits import visit_rows

CaseKey = tuple[str, str, int]
_USUAL = ("mesh_full",) * 8 + ("punch",) * 5 + ("sheet_full",) * 5 + ("flap_axial",) * 2 + ("strip", "mesh_split")


@dataclass(frozen=True, slots=True)
class Plan:
    """
    What one animal comes for: a tuple of methods, in order, for every wound.

    Every operation on a wound but its last fails and is followed by the next; `leaves` ends the last one early with
    that exit reason, or 'lost'. `stays` keeps the last one until it is healed.
    """

    species: str
    wounds: tuple[tuple[str, ...], ...]
    leaves: str = ""
    stays: bool = False


@dataclass(frozen=True, slots=True)
class Practice:
    """Rows by sheet as typed (field name to value), and the fate of every reconstruction by its three keys."""

    name: str
    rows: Mapping[str, tuple[Row, ...]]
    truth: Mapping[CaseKey, Fate]


def draw_plans(rng: np.random.Generator, animals: int, *, second_wound: float = 0.1) -> tuple[Plan, ...]:
    """Dogs and cats, five to two, with one wound or, in `second_wound` of them, two."""
    return tuple(
        Plan(
            pick(rng, ("dog",) * 5 + ("cat",) * 2),
            tuple((pick(rng, _USUAL),) for _ in range(1 + int(rng.random() < second_wound))),
        )
        for _ in range(animals)
    )


def invent(
    *,
    seed: int,
    animals: int = 60,
    planted: Planted | None = None,
    plans: Sequence[Plan] | None = None,
    name: str = "An invented practice",
    first: date = date(2022, 1, 10),
    last: date = date(2025, 6, 30),
) -> Practice:
    """
    An invented practice; the same arguments give the same rows.

    Operations fall on working days from `first` to `last`; `plans` says what the animals come for instead of chance.

    >>> invent(seed=1, animals=3) == invent(seed=1, animals=3)
    True
    """
    rng = np.random.default_rng(seed)
    planted = planted or Planted()
    plans = draw_plans(rng, animals) if plans is None else plans
    days = sorted(int(day) for day in rng.integers(0, (last - first).days + 1, len(plans)))
    numbers = 1000 + np.cumsum(rng.integers(1, 30, len(plans)))
    rows: dict[str, list[Row]] = {table.name: [] for table in dictionary.SHEETS}
    truth: dict[CaseKey, Fate] = {}
    for plan, number, day in zip(plans, numbers, days, strict=True):
        for case in _animal(rng, planted, plan, f"H{number}", first + timedelta(days=day)):
            truth[case.patient, case.wound_letter, case.operation] = case.fate
            _write(rng, planted, case, rows)
    return Practice(
        name,
        MappingProxyType({sheet: with_blanks(rng, sheet, written) for sheet, written in rows.items()}),
        MappingProxyType(truth),
    )


def _animal(rng: np.random.Generator, planted: Planted, plan: Plan, patient: str, arrival: date) -> list[Case]:
    animal = draw_animal(rng, plan.species)
    effect = (float(rng.standard_normal()), float(rng.standard_normal()))
    cases: list[Case] = []
    for letter, methods in zip("ABCDEFG", plan.wounds, strict=False):
        wound = draw_wound(rng, animal, _lead(methods))
        surgery = _working(arrival)
        for operation, method in enumerate(methods, start=1):
            following = methods[operation] if operation < len(methods) else ""
            done, planned = method, method
            if method == "not_done":
                planned = "mesh_full"
            elif rng.random() < 0.05 and GROUP[method] in FREE_GRAFTS:
                planned = "sheet_full" if method != "sheet_full" else "mesh_full"
            fate = draw_fate(rng, planted, effect, planned, plan.species, wound.region, wound.bed)
            fate = _planned_end(rng, plan, fate, method, following)
            course = draw_course(rng, planted, fate)
            cases.append(Case(patient, letter, operation, animal, wound, planned, done, surgery, fate, course))
            surgery = surgery + timedelta(days=course.exit_day)
    return cases
