"""
The invented practice of the demonstration: Ostrel Hill, which does not exist, and its sixty animals, 2022 to 2025.

Every row is made up. The shares were set so that the report has something to say, not to match any real practice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from types import MappingProxyType

from synthetic_data.practice import Plan, Practice, invent
from synthetic_data.sheets import Row
from synthetic_data.truth import Planted

NAME = "Ostrel Hill (an invented practice)"
SEED = 42
PLANTED = Planted(
    healing_days={**Planted().healing_days, "mesh_graft": 24, "sheet_graft": 22, "piece_graft": 27},
    take={**Planted().take, "mesh_graft": 0.92, "sheet_graft": 0.9, "piece_graft": 0.88},
    exits={},
    loss=0.0,
    loss_time=1.4,
    elsewhere=0.1,
    percent_step=10,
)

# What animals come for ("first > second": a re-operation, "one + other": two wounds), and how many do.
_DOGS = {
    "mesh_full": 9, "punch": 5, "sheet_full": 4, "mesh_full > mesh_full": 1, "punch > punch": 1,
    "sheet_full > flap_distant_direct": 1, "mesh_full + punch": 2, "mesh_full + mesh_full": 1, "strip": 1, "stamp": 1,
    "pad_segmental": 1, "mesh_split": 1, "sheet_split": 1, "flap_subdermal_advancement": 1,
    "flap_subdermal_rotation": 1, "flap_subdermal_transposition": 1, "flap_fold": 1,
    "flap_distant_direct": 1, "flap_axial": 1,
    "flap_digital_fillet": 1, "flap_myocutaneous": 1, "flap_free_microvascular": 1, "primary_closure": 2,
    "second_intention": 2, "combined": 1, "not_done": 1,
}  # fmt: skip
_CATS = {
    "mesh_full": 5, "punch": 3, "sheet_full": 3, "mesh_full + mesh_full + sheet_full + mesh_full": 1, "mesh_split": 1,
    "strip": 1, "flap_axial": 1, "second_intention": 1,
}  # fmt: skip
_LEAVES = {
    ("dog", "mesh_full"): ("lost", "lost", "amputated_wound"), ("dog", "punch"): ("lost", "amputated_wound"),
    ("dog", "sheet_full"): ("died_unrelated",), ("dog", "second_intention"): ("euthanased_financial",),
    ("dog", "flap_fold"): ("lost",), ("cat", "punch"): ("lost",), ("cat", "sheet_full"): ("lost",),
}  # fmt: skip


def demo_plans() -> tuple[Plan, ...]:
    """What the sixty animals come for, in the order of their arrival."""
    plans = [*_plans("dog", _DOGS), *_plans("cat", _CATS)]
    return tuple(plans[place * 23 % len(plans)] for place in range(len(plans)))


def demo_practice() -> Practice:
    """
    The demonstration practice: valid rows, and a few oddities that a check should ask about.

    >>> len(demo_practice().rows["animals"])
    60
    """
    practice = invent(seed=SEED, plans=demo_plans(), planted=PLANTED, name=NAME)
    donors = practice.rows["donor_sites"]
    removed = [place for place, row in enumerate(donors) if isinstance(row["suture_out_date"], date)]
    for place, day in ((removed[3], 2), (removed[20], 31)):
        practice = changed(practice, "donor_sites", place, suture_out_date=_surgery(practice, donors[place], day))
    forgotten = {"patient_number": "H2222", "surgery_date": date(2024, 11, 12)}
    return _with_rows(practice, "theatre_list", [*practice.rows["theatre_list"], forgotten])


def with_faults(practice: Practice) -> Practice:
    """
    The same practice with nine slips of the pen.

    Two mistyped codes, a date in words, 140 %, a visit before its surgery, a visit entered twice, a visit of an unknown
    patient, a telephone number, and a healed exit that no visit bears out.
    """
    visits = practice.rows["visits"]
    shown = [place for place, row in enumerate(visits) if row["viable_pct"] == 100]
    lost = next(i for i, row in enumerate(practice.rows["exits"]) if row["exit_reason"] == "lost_before_healing")
    practice = changed(practice, "reconstructions", 2, done_method="mehs graft, full thickness")
    practice = changed(practice, "animals", 4, species="kat")
    practice = changed(practice, "visits", shown[0], viable_pct=140)
    practice = changed(practice, "visits", shown[30], visit_date="third of May")
    practice = changed(practice, "visits", shown[60], visit_date=_surgery(practice, visits[shown[60]], -5))
    practice = changed(practice, "visits", shown[80], collar="always, ring 01632 960123")
    practice = changed(practice, "exits", lost, exit_reason="healed_and_followed")
    orphan = {**visits[shown[90]], "patient_number": "H9999"}
    return _with_rows(practice, "visits", [*practice.rows["visits"], visits[shown[100]], orphan])


def changed(practice: Practice, sheet: str, place: int, **values: object) -> Practice:
    """The same practice with other values in one row of a sheet; `place` counts from 0."""
    rows = list(practice.rows[sheet])
    rows[place] = {**rows[place], **values}
    return _with_rows(practice, sheet, rows)


def _with_rows(practice: Practice, sheet: str, rows: Sequence[Row]) -> Practice:
    return replace(practice, rows=MappingProxyType({**practice.rows, sheet: tuple(rows)}))


def _surgery(practice: Practice, row: Row, day: int) -> date:
    """The date of a day after the operation that the row belongs to."""
    key = ("patient_number", "wound_letter", "operation_number")
    for operation in practice.rows["reconstructions"]:
        if all(operation[name] == row[name] for name in key):
            surgery: date = operation["surgery_date"]
            return surgery + timedelta(days=day)
    raise KeyError(row)


def _plans(species: str, wanted: Mapping[str, int]) -> list[Plan]:
    plans = []
    for methods, animals in wanted.items():
        wounds = tuple(tuple(wound.split(" > ")) for wound in methods.split(" + "))
        leaves = _LEAVES.get((species, methods), ())
        plans += [Plan(species, wounds, leaves=reason) for reason in leaves]
        plans += [Plan(species, wounds, stays=True)] * (animals - len(leaves))
    return plans
