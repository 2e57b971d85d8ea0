"""The demonstration practice: what its page says of it is so, and the intake finds in it what was put in."""

from collections import Counter

import numpy as np
import pytest
from validity import faults

from audit import dictionary
from audit.codes import FREE_GRAFTS
from audit.intake.check_workbook import check_workbook
from synthetic_data.demo import demo_practice, with_faults
from synthetic_data.truth import GROUP, is_distal
from synthetic_data.workbook import write_workbook


@pytest.fixture(scope="module")
def practice():
    return demo_practice()


def test_who_is_in_it(practice):
    assert Counter(row["species"] for row in practice.rows["animals"]) == {"dog": 44, "cat": 16}
    done = Counter(row["done_method"] for row in practice.rows["reconstructions"])
    assert set(done) == set(dictionary.RECONSTRUCTIONS["done_method"].words)
    exits = Counter(row["exit_reason"] for row in practice.rows["exits"])
    assert {"amputated_wound": 2, "died_unrelated": 1, "lost_before_healing": 6}.items() <= exits.items()
    cats = {row["patient_number"] for row in practice.rows["animals"] if row["species"] == "cat"}
    assert (
        max(Counter(row["patient_number"] for row in practice.rows["exits"] if row["patient_number"] in cats).values())
        == 4
    )
    assert list(faults(practice.rows)) == []


def test_its_truth_looks_like_the_trade(practice):
    species = {row["patient_number"]: row["species"] for row in practice.rows["animals"]}
    distal = {(row["patient_number"], row["wound_letter"]): is_distal(row["region"]) for row in practice.rows["wounds"]}
    grafts = [
        (species[row["patient_number"]], distal[key[:2]], practice.truth[key])
        for row in practice.rows["reconstructions"]
        if GROUP[row["done_method"]] in FREE_GRAFTS
        for key in [(row["patient_number"], row["wound_letter"], row["operation_number"])]
    ]
    assert 0.78 < np.mean([fate.took for _, _, fate in grafts]) < 0.86
    assert 25 < np.median([fate.heals_on for _, _, fate in grafts]) < 31
    for better, worse in (
        ([fate for kind, _, fate in grafts if kind == "cat"], [fate for kind, _, fate in grafts if kind == "dog"]),
        ([fate for _, low, fate in grafts if not low], [fate for _, low, fate in grafts if low]),
    ):
        assert np.mean([fate.took for fate in better]) > np.mean([fate.took for fate in worse])
        assert np.median([fate.heals_on for fate in better]) < np.median([fate.heals_on for fate in worse])


def test_nine_slips_and_no_more(practice):
    found = {(sheet, field, wrong) for sheet, _, field, _, wrong in faults(with_faults(practice).rows)}
    assert found == {
        ("animals", "species", "no such code"),
        ("reconstructions", "done_method", "no such code"),
        ("visits", "viable_pct", "out of range"),
        ("visits", "visit_date", "no date"),
        ("visits", "visit_date", "out of range"),
        ("visits", "collar", "no such code"),
        ("visits", "key", "twice"),
        ("visits", "patient_number", "orphan"),
        ("visits", "wound_letter", "orphan"),
        ("visits", "operation_number", "orphan"),
    }


def test_the_intake_warns_of_the_oddities_and_refuses_the_slips(practice, tmp_path):
    path = tmp_path / "practice.xlsx"
    write_workbook(practice, path)
    found = check_workbook(path, key=bytes(32))
    assert {fault.severity for fault in found.faults} == {"warning"}
    assert {"area_is_product", "unusual_day", "round_figures"} <= {fault.check for fault in found.faults}
    assert len(found.tables["visits"]) == len(practice.rows["visits"])

    write_workbook(with_faults(practice), path)
    errors = Counter(fault.check for fault in check_workbook(path, key=bytes(32)).faults if fault.severity == "error")
    assert errors == {
        "unknown_word": 2, "out_of_range": 1, "not_a_date": 1, "day_out_of_range": 1, "telephone": 1, "row_twice": 1,
        "operation_unknown": 1,
    }  # fmt: skip
