"""The visit rows of an invented case: what a nurse would write down at each contact."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from synthetic_data.cases import Case
from synthetic_data.schedule import Examination
from synthetic_data.sheets import NA, Row, yes_no
from synthetic_data.signalment import pick
from synthetic_data.truth import Planted

NOT_ASSESSABLE = "not_assessable"
_AWAY = range(6, 16)
_OPEN_AT_FIRST = {"mesh_graft": 0.35, "sheet_graft": 0.15, "piece_graft": 0.6, "flap": 0.08, "closure": 0.05}


def visit_rows(rng: np.random.Generator, planted: Planted, case: Case, row: Row) -> list[Row]:
    """Rows of sheet visits in order of date, with a telephone call now and then; `row` is its reconstruction's row."""
    unveiled = int(rng.integers(3, 6)) if case.is_free_graft else 1
    pieces = row["pieces_placed"]
    away = rng.random() < planted.elsewhere and (case.course.seen_healed or _AWAY[-1]) >= _AWAY[-1]
    rows = [
        _told(case, examination.day, "other_practice_report")
        if away and examination.day in _AWAY
        else _seen(rng, planted, case, examination, unveiled=unveiled, pieces=pieces if isinstance(pieces, int) else 0)
        for examination in case.course.examinations
    ]
    for seen, following in pairwise(case.course.examinations):
        if following.day <= 60 or rng.random() < 0.7:
            rows[case.course.examinations.index(seen)] |= {"next_planned_date": case.on(following.day)}
    return sorted([*rows, *_calls(rng, case)], key=lambda each: str(each["visit_date"]))


def percent(viable: float, step: int) -> int:
    """
    Percent alive as it is written down, in steps, on the true side of three quarters.

    >>> percent(77.2, 10), percent(74.0, 10), percent(77.2, 5)
    (80, 70, 75)
    """
    written = round(viable / step) * step
    if viable >= 75 > written or written >= 75 > viable:
        written += step if viable >= 75 else -step
    return written


def _seen(
    rng: np.random.Generator, planted: Planted, case: Case, examination: Examination, *, unveiled: int, pieces: int
) -> dict[str, object]:
    day, healed = examination.day, examination.day >= case.fate.heals_on
    picture = day > 14 and rng.random() < 0.07
    visible = day >= unveiled
    assessor = pick(rng, ("surgeon", "surgeon", "resident", "nurse"))
    return {
        **case.key,
        "visit_date": case.on(day),
        "contact": "owner_photo"
        if picture
        else "inpatient"
        if day <= 2
        else pick(rng, ("clinic",) * 14 + ("home_visit",)),
        "bandage_changed": yes_no(not (healed or picture or case.group in ("flap", "closure"))),
        "graft_visible": NA if case.group in ("closure", "no_graft") else yes_no(visible),
        **_take(rng, planted, case, day, visible=visible, pieces=pieces),
        "epithelialised": yes_no(healed) if visible else NOT_ASSESSABLE,
        **(_area(case, day, healed=healed) if visible else {}),
        "scheduled": examination.scheduled,
        "assessor_code": {"surgeon": "S1", "resident": "S2", "nurse": "N1"}[assessor],
        "assessor_role": assessor,
        "assessor_operated": yes_no(assessor == "surgeon"),
        "bandage_state": "none" if healed else pick(rng, ("intact",) * 8 + ("slipped", "wet", "soiled")),
        "sedation": "sedation" if day <= 7 and rng.random() < 0.4 else "none",
        "collar": "no" if healed else pick(rng, ("always", "always", "mostly")),
        "exudate": "none" if healed else pick(rng, ("serous", "serosanguineous", "none")),
        "exudate_amount": "none" if healed else pick(rng, ("low", "low", "moderate")),
        "adherence": ("firm" if case.fate.took else "partial") if visible and case.is_free_graft else NA,
        "fluid_under": "none" if visible and case.is_free_graft else NA,
        "colour": _colour(case, day) if visible and case.is_free_graft else NA,
        "systemic_antimicrobial": yes_no(day <= 7),
        "photo_code": f"F{case.patient[1:]}{case.wound_letter}{case.operation}-{day}",
        "photo_scale": yes_no(rng.random() < 0.7),
        "photo_view": "whole_graft",
    }


def _take(
    rng: np.random.Generator, planted: Planted, case: Case, day: int, *, visible: bool, pieces: int
) -> dict[str, object]:
    if case.group in ("closure", "no_graft"):
        return {"viable_pct": NA, "lost_pct": NA}
    if not visible:
        return {"viable_pct": NOT_ASSESSABLE, "lost_pct": NOT_ASSESSABLE}
    step = planted.percent_step
    doubtful = step * int(rng.integers(1, 3)) if day < 7 or rng.random() < 0.08 else 0
    written = percent(case.fate.viable_pct, step)
    doubtful = min(doubtful, written) if day < 14 else 0
    lost = 100 - written
    depth = "none" if not lost else "epidermal_only" if case.fate.viable_pct > 92 else "full_thickness"
    found = {"viable_pct": written - doubtful, "lost_pct": lost, "uncertain_pct": doubtful, "loss_depth": depth}
    if pieces:
        found |= {"pieces_seen": pieces, "pieces_alive": round(pieces * (written - doubtful) / 100)}
    return found


def _area(case: Case, day: int, *, healed: bool) -> dict[str, object]:
    if healed:
        return {"open_area_cm2": 0, "open_perimeter_cm": 0, "graft_outline_cm2": _outline(case, day)}
    lost = 0.0 if case.group in ("closure", "no_graft") else 1 - case.fate.viable_pct / 100
    share = min(1.0, _OPEN_AT_FIRST.get(case.group, 1.0) + lost)
    left = max(0.05, 1 - (day / min(case.fate.heals_on, 150)) ** 1.3)
    area = max(0.1, round(case.wound.area_cm2 * share * left, 1))
    return {
        "open_area_cm2": area,
        "open_perimeter_cm": round(1.25 * 2 * (np.pi * area) ** 0.5, 1),
        "graft_outline_cm2": _outline(case, day),
    }


def _outline(case: Case, day: int) -> object:
    if not case.is_free_graft:
        return NA
    return round(case.wound.area_cm2 * (1 - 0.015 * min(day, 10) + 0.0012 * min(max(day - 10, 0), 80)), 1)


def _colour(case: Case, day: int) -> str:
    if day < 5:
        return "pale"
    return "pink" if case.fate.took else "pink; black" if day < 12 else "pink; yellow_slough"


def _calls(rng: np.random.Generator, case: Case) -> Iterator[Row]:
    """A telephone call on a day without an examination, in one gap of ten: it tells, but cannot show."""
    for seen, following in pairwise(case.course.examinations):
        if following.day - seen.day > 3 and rng.random() < 0.1:
            yield _told(case, (seen.day + following.day) // 2, "phone")


def _told(case: Case, day: int, contact: str) -> dict[str, object]:
    return {
        **case.key,
        "visit_date": case.on(day),
        "contact": contact,
        "bandage_changed": "no",
        "graft_visible": "no",
        "viable_pct": NOT_ASSESSABLE,
        "lost_pct": NOT_ASSESSABLE,
        "epithelialised": NOT_ASSESSABLE,
        "scheduled": "opportunistic",
    }
