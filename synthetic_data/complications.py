"""The complication rows of an invented case, dated at its examinations."""

from collections.abc import Iterator

import numpy as np

from synthetic_data.cases import Case
from synthetic_data.sheets import NA, Row
from synthetic_data.signalment import pick

_RATE = {"flap": 0.4, "closure": 0.15, "no_graft": 0.2}
_WHAT = {
    "flap": ("seroma", "dehiscence_edge", "oedema", "congestion", "infection_superficial"),
    "closure": ("seroma", "dehiscence_edge"),
    "no_graft": ("infection_superficial", "self_trauma", "contracture"),
}
_ON_A_GRAFT = ("epidermal_slough", "self_trauma", "bandage_injury", "haematoma", *("infection_superficial",) * 3)
_ACTION = {
    "infection_superficial": "antimicrobial; topical",
    "seroma": "drainage",
    "dehiscence_edge": "re_suture",
    "haematoma": "drainage",
    "self_trauma": "bandage_change",
    "bandage_injury": "bandage_change",
    "epidermal_slough": "bandage_change",
}
_ENDED = {"amputated_wound": "amputation", "re_grafted": "re_graft", "converted_other_method": "flap"}


def complication_rows(rng: np.random.Generator, case: Case) -> list[Row]:
    """Rows of sheet complications: every graft or flap without take, and some others."""
    return list(_drawn(rng, case)) if case.course.examinations else []


def _drawn(rng: np.random.Generator, case: Case) -> Iterator[Row]:
    seen = [examination.day for examination in case.course.examinations]
    if not case.fate.took:
        last = [day for day in seen if day >= 7] or seen[-1:]
        extent = 100 - round(case.fate.viable_pct / 5) * 5
        what = "complete_necrosis" if extent >= 95 else "partial_necrosis"
        action = _ENDED.get(case.course.exit_reason, "debride_conscious")
        yield _row(case, what, "recipient", seen, last[0], action, extent=extent)
    if rng.random() < _RATE.get(case.group, 0.16):
        what = pick(rng, _WHAT.get(case.group, _ON_A_GRAFT))
        yield _row(case, what, "recipient", seen, _early_day(rng, seen), _ACTION.get(what, "none"))
    if case.is_free_graft and rng.random() < 0.06:
        what = pick(rng, ("dehiscence_edge", "seroma"))
        yield _row(case, what, "donor", seen, _early_day(rng, seen), _ACTION[what])
    if case.fate.took and case.course.exit_reason == "amputated_wound":
        yield _row(case, "infection_deep", "recipient", seen, seen[-1], "antimicrobial; amputation")
    if case.course.exit_reason == "died_related":
        yield _row(case, "death", "systemic", seen, case.course.exit_day, "none")
    if seen[-1] >= 90 and rng.random() < 0.08:
        yield {
            **_row(case, pick(rng, ("contracture", "inclusion_cyst")), "recipient", seen, seen[-1], "none"),
            "class": "expected_sequela",
        }


def _early_day(rng: np.random.Generator, seen: list[int]) -> int:
    """An examination of the first month, or the first examination."""
    early = [day for day in seen if day <= 30] or seen[:1]
    return early[int(rng.integers(len(early)))]


def _row(case: Case, what: str, site: str, seen: list[int], day: int, action: str, *, extent: int | None = None) -> Row:
    before = max((each for each in seen if each < day), default=0)
    row: dict[str, object] = {
        **case.key,
        "complication": what,
        "site": site,
        "first_seen_date": case.on(day),
        "action": action,
        "extent_pct": NA if extent is None else extent,
        "last_free_date": case.on(before),
        "class": "complication",
        "related": "probable",
    }
    if what.startswith("infection"):
        row["infection_basis"] = "purulent_discharge"
    return row
