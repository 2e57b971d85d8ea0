"""
A whole invented practice: the rows of its workbook, and the truth behind every row.

Everything here is made up: animals, numbers, dates and outcomes. Nothing can be learnt from it about real grafts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import inf
from types import MappingProxyType

import numpy as np

from audit import dictionary
from audit.codes import FREE_GRAFTS
from synthetic_data import sheets
from synthetic_data.blanks import with_blanks
from synthetic_data.cases import Case, Course, draw_course, ended
from synthetic_data.complications import complication_rows
from synthetic_data.ratings import score_rows
from synthetic_data.sheets import Row
from synthetic_data.signalment import draw_animal, draw_wound, pick
from synthetic_data.truth import GROUP, Fate, Planted, draw_fate
from synthetic_data.visits import visit_rows

CaseKey = tuple[str, str, int]
_USUAL = ("mesh_full",) * 8 + ("punch",) * 5 + ("sheet_full",) * 5 + ("flap_axial",) * 2 + ("strip", "mesh_split")
_INSTEAD = "mesh_full"
_NOT_DONE = Course((), None, "transferred_care", 3)


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
            if case.method != "not_done":
                truth[case.patient, case.wound_letter, case.operation] = case.fate
            _write(rng, planted, case, rows)
    return Practice(
        name,
        MappingProxyType({sheet: with_blanks(rng, sheet, written) for sheet, written in rows.items()}),
        MappingProxyType(truth),
    )


def _animal(rng: np.random.Generator, planted: Planted, plan: Plan, patient: str, arrival: date) -> list[Case]:
    """Every reconstruction of one animal; what takes the animal away takes it from all its wounds on one date."""
    animal = draw_animal(rng, plan.species)
    effect = (float(rng.standard_normal()), float(rng.standard_normal()))
    arrival = _working_day(arrival)
    cases: list[Case] = []
    departure: tuple[str, float] | None = None
    for letter, methods in zip("ABCDEFG", plan.wounds, strict=False):
        wound = draw_wound(rng, animal, methods[0] if methods[0] != "not_done" else _INSTEAD)
        waited = 0
        for operation, method in enumerate(methods, start=1):
            planned = _planned(rng, method)
            fate = draw_fate(rng, planted, effect, planned, plan.species, wound.region, wound.bed)
            departure = departure or _departure(rng, plan, fate)
            if operation < len(methods):
                fate = _fails(rng, fate, methods[operation])
            else:
                fate = _leaves(plan, fate, departure[0], departure[1] - waited, first=not cases)
            course = draw_course(rng, planted, fate) if method != "not_done" else _NOT_DONE
            surgery = arrival + timedelta(days=waited)
            cases.append(Case(patient, letter, operation, animal, wound, planned, method, surgery, fate, course))
            waited += course.exit_day
    return cases


def _working_day(day: date) -> date:
    """That day, or the Monday after it."""
    return day + timedelta(days=7 - day.weekday() if day.weekday() >= 5 else 0)


def _planned(rng: np.random.Generator, method: str) -> str:
    """The method planned: now and then another than the one done."""
    if method == "not_done":
        return _INSTEAD
    changed = GROUP[method] in FREE_GRAFTS and rng.random() < 0.05
    return method if not changed else "sheet_full" if method != "sheet_full" else "mesh_full"


def _departure(rng: np.random.Generator, plan: Plan, fate: Fate) -> tuple[str, float]:
    if plan.leaves:
        return plan.leaves, float(rng.integers(9, 27))
    again = any(len(methods) > 1 for methods in plan.wounds)
    return ("", inf) if plan.stays or again else (fate.leaves, fate.leaves_on)


def _fails(rng: np.random.Generator, fate: Fate, following: str) -> Fate:
    reason = "re_grafted" if GROUP[following] in FREE_GRAFTS else "converted_other_method"
    return ended(fate, reason, int(rng.integers(14, 29)))


def _leaves(plan: Plan, fate: Fate, reason: str, day: float, *, first: bool) -> Fate:
    if reason.startswith("amputated") and not first:
        reason, day = "", inf
    if plan.leaves and reason:
        return ended(fate, reason, int(day))
    return replace(fate, leaves=reason, leaves_on=day)


def _write(rng: np.random.Generator, planted: Planted, case: Case, rows: dict[str, list[Row]]) -> None:
    if case.operation == 1:
        if case.wound_letter == "A":
            rows["animals"].append(sheets.animal_row(rng, case.patient, case.animal))
        rows["wounds"].append(sheets.wound_row(rng, case))
    area = rows["wounds"][-1]["area_cm2"]
    reconstruction = sheets.reconstruction_row(rng, case, area)
    visits = visit_rows(rng, planted, case, reconstruction)
    rows["reconstructions"].append(reconstruction)
    rows["visits"] += visits
    if case.is_free_graft:
        rows["donor_sites"].append(sheets.donor_row(rng, case, reconstruction["graft_area_cm2"]))
    rows["scores"] += score_rows(rng, planted, case)
    rows["complications"] += complication_rows(rng, case)
    rows["exits"].append(sheets.exit_row(case, visits))
    rows["theatre_list"].append({"patient_number": case.patient, "surgery_date": case.surgery})
