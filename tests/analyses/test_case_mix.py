"""Traits of cases and of animals, counted and measured by hand."""

import pytest

from audit.analyses.case_mix import case_mix
from tests.planted import tallied

DOG = {"species": "dog", "method": "mesh_full", "method_group": "mesh_graft", "location": "distal_limb",
       "is_first_here": True, "is_changed_plan": False}  # fmt: skip


@pytest.fixture(scope="module")
def answer():
    rows = [
        DOG | {"sex": "female", "age_years": 2, "area_cm2": 10, "weight": 2, "case_codes": ["a", "b"]},
        DOG | {"sex": "male", "age_years": 8, "area_cm2": 20, "animal": 1, "case_codes": ["c"]},
        DOG | {"sex": "male", "age_years": 8, "area_cm2": 30, "animal": 1, "is_first_here": False,
               "is_changed_plan": True, "method": "punch", "case_codes": ["d"]},
        DOG | {"age_years": 4, "weight": 2, "case_codes": ["e", "f"]},
        DOG | {"species": "cat", "sex": "female", "case_codes": ["g"]},
    ]  # fmt: skip
    with tallied(case_mix_tally=rows) as cases:
        return case_mix(cases)


def test_traits_of_animals_are_counted_once_an_animal(answer):
    assert answer.totals == (("dog", 6, 5), ("cat", 1, 1))
    counts = {(c.species, c.characteristic, c.level): tuple(c.cases) for c in answer.counts}
    assert {key[2]: codes for key, codes in counts.items() if key[:2] == ("dog", "sex")} == {
        None: ("e", "f"), "female": ("a", "b"), "male": ("c",),
    }  # fmt: skip
    assert counts["dog", "method", "mesh_graft"] == ("a", "b", "c", "d", "e", "f")
    assert tuple(answer.changed_plan) == ("d",)


def test_quartiles_are_of_the_known_and_the_others_are_said(answer):
    measures = {(m.species, m.characteristic): m for m in answer.measures}
    age, area, of_cat = measures["dog", "age"], measures["dog", "wound area"], measures["cat", "age"]
    # Ages 2, 2, 4, 4, 8 of five animals; areas 10, 10, 20, 30 of six cases.
    assert (age.known, age.missing, age.quartiles, age.least, age.greatest) == (5, 0, (2, 4, 4), 2, 8)
    assert (area.known, area.missing, area.quartiles) == (4, 2, (10, 15, 22.5))
    assert (area.least, area.greatest, area.unit) == (10, 30, "cm2")
    assert (of_cat.known, of_cat.missing, of_cat.quartiles, of_cat.least) == (0, 1, None, None)


def test_how_many_cases_each_method_and_location_had(answer):
    assert answer.support.values.tolist() == [
        ["cat", "mesh_full", "distal_limb", 1], ["dog", "mesh_full", "distal_limb", 5],
        ["dog", "punch", "distal_limb", 1],
    ]  # fmt: skip
