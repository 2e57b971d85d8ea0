"""Healing from planted tallies: what is known by a day, where no animal left early, is the plain share."""

import pytest

from audit.analyses.healing import healing
from audit.analyses.planned_examinations import planned_examinations
from tests.planted import protocol_with, tallied

DOG = {"species": "dog", "method": "mesh_full", "method_group": "mesh_graft", "status": "eligible", "left_day": 0,
       "is_confirmed": True}  # fmt: skip
HEALED, OPEN = DOG | {"cause": "healed"}, DOG | {"cause": "censored"}
ROWS = [
    HEALED | {"left_day": 10, "right_day": 14, "weight": 6, "case_codes": list("abcdef")},
    HEALED | {"left_day": 30, "right_day": 35, "weight": 2, "is_confirmed": False, "case_codes": ["g", "h"]},
    OPEN | {"left_day": 60, "reopened_day": 50, "case_codes": ["i"]},
    DOG | {"left_day": 5, "cause": "amputated_wound", "exit_day": 9, "exit_group": "amputated", "case_codes": ["j"]},
    HEALED | {"left_day": 10, "right_day": 14, "method_group": "flap", "weight": 10},
    HEALED | {"left_day": 10, "right_day": 14, "method_group": "flap", "reopened_day": 20, "case_codes": ["k"]},
    HEALED | {"left_day": 10, "right_day": 14, "method_group": "piece_graft", "case_codes": ["l"]},
    DOG | {"status": "excluded", "reason": "planned, then not done", "weight": 4},
]  # fmt: skip
BY_DAY = {"species": "dog", "method_group": "mesh_graft", "day": 21, "status": "sure_yes"}
DAYS = [
    BY_DAY | {"weight": 6},
    BY_DAY | {"status": "sure_no", "weight": 4},
    BY_DAY | {"method_group": "piece_graft"},
    BY_DAY | {"method_group": "flap", "weight": 11},
]


@pytest.fixture(scope="module")
def cases():
    days = [*DAYS, *(row | {"day": 42} for row in DAYS)]
    examinations = [
        {"species": "dog", "method_group": group, "why": why, "examinations": n}
        for group, why, n in [
            ("mesh_graft", "scheduled", 20), ("piece_graft", "scheduled", 3), ("mesh_graft", "prompted", 4),
            ("mesh_graft", "opportunistic", 2), ("mesh_graft", None, 5), ("flap", "scheduled", 90),
        ]
    ]  # fmt: skip
    planned = [row | {"left_day": 5} if row["left_day"] == 10 else row for row in ROWS]
    columns = {"species", "method_group", "left_day", "right_day", "cause", "exit_day", "status", "weight"}
    planned = [{name: value for name, value in row.items() if name in columns} for row in planned]
    protocol = protocol_with("analysis", smallest_curve=10)
    with tallied(
        protocol,
        healing_tally=ROWS,
        healing_by_day_tally=days,
        examination_reason_tally=examinations,
        healing_planned_tally=planned,
    ) as bound:
        yield bound


@pytest.fixture(scope="module")
def answer(cases):
    return healing(cases)


def test_free_grafts_of_a_species_have_one_curve_and_large_groups_their_own(answer):
    (whole,) = answer.overall
    assert (whole.species, whole.group, whole.animals, len(whole.codes)) == ("dog", "free_graft", 11, 11)
    assert [(curve.group, curve.animals) for curve in answer.by_method] == [("flap", 11), ("mesh_graft", 10)]
    assert answer.too_few == (("dog", "piece_graft", 1),)
    assert whole.causes == ("healed", "amputated_wound")
    assert (tuple(answer.unconfirmed), tuple(answer.reopened)) == (("g", "h"), ("k",))
    assert len(answer.lines) == 22
    assert len(answer.lines_of(whole)) == 11
    assert len(answer.lines_of(answer.by_method[0])) == 11


def test_shares_by_a_day_with_the_curve_and_the_mean_of_the_whole_alone(answer):
    (whole,) = answer.overall
    ((day, group, estimate), (later, _, healed)) = whole.shares
    assert (day, later, len(group.cases.sure_yes), group.cases.asked) == (21, 42, 7, 11)
    # Seven of eleven by day 21 and nine by day 42: nobody was lost from sight before.
    assert estimate.value == pytest.approx(7 / 11, abs=1e-4)
    assert healed.value == pytest.approx(9 / 11, abs=1e-4)
    assert (whole.median.value, whole.median.value_to) == (10, 14)
    assert whole.band.days.tolist() == list(range(1, 121))
    # Seven healed between 10 and 14, two between 30 and 35; the others count to day 120.
    least, most = (7 * a + 2 * b + 2 * 120 for a, b in ((10, 30), (14, 35)))
    assert (whole.mean_days.value, whole.mean_days.value_to) == pytest.approx((least / 11, most / 11), abs=1e-3)
    assert all(curve.mean_days is None for curve in answer.by_method)


def test_planned_examinations_only(cases, answer):
    (dogs,) = planned_examinations(cases, answer)
    assert (dogs.cases, dogs.examinations, dogs.days) == (11, (23, 4, 2, 5), (21, 42))
    assert dogs.by_all == tuple(estimate for _, _, estimate in answer.overall[0].shares)
    assert dogs.by_planned[0].value == pytest.approx(7 / 11, abs=1e-4)
    assert dogs.median_planned.value_to == 14
    assert (dogs.median_planned.value, dogs.median_all.value) == (5, 10)


def test_without_a_planned_examination_there_is_no_estimate_of_them(answer):
    examinations = [{"species": "dog", "method_group": "mesh_graft", "why": None, "examinations": 7}]
    with tallied(examination_reason_tally=examinations) as cases:
        (dogs,) = planned_examinations(cases, answer)
    assert (dogs.examinations, dogs.by_planned, dogs.median_planned) == ((0, 0, 0, 7), None, None)
    assert dogs.median_all is answer.overall[0].median


def test_too_few_animals_have_no_mean():
    with tallied(
        healing_tally=ROWS[1:4], healing_by_day_tally=[row | {"day": d} for row in DAYS for d in (21, 42)]
    ) as few:
        (whole,) = healing(few).overall
    assert (whole.animals, whole.mean_days) == (4, None)
