"""Invented practices: valid by the dictionary, the same for the same seed, and in keeping with their truth."""

from collections import Counter

import numpy as np
import pytest
from validity import faults

from audit import dictionary
from synthetic_data.edge_cases import NAMES, edge_case
from synthetic_data.practice import invent
from synthetic_data.truth import Planted


def test_the_same_seed_gives_the_same_rows():
    assert invent(seed=4, animals=10) == invent(seed=4, animals=10)
    assert invent(seed=4, animals=10).rows["visits"] != invent(seed=5, animals=10).rows["visits"]


@pytest.mark.parametrize("schedule", ["dense", "weekly", "sparse"])
def test_every_row_is_valid(schedule):
    rates = {"died_unrelated": 0.004, "euthanased_financial": 0.003, "amputated_wound": 0.004, "died_related": 0.003}
    practice = invent(seed=9, animals=150, planted=Planted(schedule=schedule, exits=rates))
    assert list(faults(practice.rows)) == []
    assert set(rates) <= {row["exit_reason"] for row in practice.rows["exits"]}


@pytest.mark.parametrize("name", NAMES)
def test_every_edge_case_is_valid(name):
    assert list(faults(edge_case(name).rows)) == []


def test_the_rows_tell_the_truth():
    practice = invent(seed=2, animals=150)
    surgery = {key_of(row): row["surgery_date"] for row in practice.rows["reconstructions"]}
    assert set(practice.truth) == set(surgery)
    for row in practice.rows["visits"]:
        fate, day = practice.truth[key_of(row)], (row["visit_date"] - surgery[key_of(row)]).days
        if row["epithelialised"] in ("yes", "no"):
            assert (row["epithelialised"] == "yes") == (day >= fate.heals_on)
        if isinstance(row["viable_pct"], int):
            assert row["viable_pct"] + row["lost_pct"] + row["uncertain_pct"] == 100
            assert (100 - row["lost_pct"] >= 75) == fate.took
    healed = {key_of(row) for row in practice.rows["visits"] if row["epithelialised"] == "yes"}
    assert healed == {key_of(row) for row in practice.rows["exits"] if row["exit_reason"].startswith("healed")} | {
        key for key in healed if exit_of(practice, key) in ("died_unrelated", "euthanased_other", "amputated_other")
    }


def test_repeats_are_a_tenth_and_the_surgeon_grades_higher():
    rows = invent(seed=3, animals=500, planted=Planted(exits={}, loss=0.0)).rows["scores"]
    hair = [row for row in rows if row["item"] == "hair" and row["value"] != "not_applicable"]
    repeats = np.mean([row["is_repeat"] == "yes" for row in hair])
    assert repeats == pytest.approx(0.1 / 1.1, abs=0.03)

    first = {(key_of(row), row["rater_code"]): row["value"] for row in hair if row["is_repeat"] == "no"}
    above = [first[key, "R1"] - value for (key, rater), value in first.items() if rater == "R2"]
    assert np.mean(above) == pytest.approx(0.3, abs=0.15)


def test_blanks_leave_the_core_whole_and_the_rest_mostly_filled():
    rows = invent(seed=6, animals=100).rows
    shares = {}
    for table, field in dictionary.fields():
        due = [row[field.name] for row in rows[table.name] if row[field.name] != "not_applicable"]
        shares[table.name, field.name] = np.mean([value not in (None, "not_recorded") for value in due])
        assert not field.core or all(value is not None for value in due)
    assert 0.6 < np.mean(list(shares.values())) < 0.95


def key_of(row):
    return row["patient_number"], row["wound_letter"], row["operation_number"]


def exit_of(practice, key):
    return next(row["exit_reason"] for row in practice.rows["exits"] if key_of(row) == key)


def test_every_kind_of_exit_has_its_edge_case():
    exits = Counter(row["exit_reason"] for row in edge_case("exits of every kind").rows["exits"])
    assert set(exits) == set(dictionary.EXITS["exit_reason"].words)
