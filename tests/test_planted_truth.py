"""From planted truth to the report's answers: a workbook of 240 invented animals goes in, the truth comes out."""

from datetime import date

import numpy as np
import pytest

from audit.analyses.run import run_audit
from audit.intake.check_workbook import check_workbook
from audit.protocol import read_protocol
from audit.store import open_store
from synthetic_data.practice import invent
from synthetic_data.truth import Planted
from synthetic_data.workbook import write_workbook

KEY = bytes(range(32))


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """The practice, its intake and the audit of it; no exit but healing and loss, which does not follow the outcome."""
    practice = invent(seed=7, animals=240, planted=Planted(exits={}, loss=0.002, schedule="weekly"))
    path = tmp_path_factory.mktemp("planted") / "practice.xlsx"
    write_workbook(practice, path)
    intake = check_workbook(path, key=KEY)
    assert not intake.errors
    with open_store(":memory:", create=True) as store:
        store.load(intake.tables, fingerprint=intake.fingerprint, on=date(2026, 1, 1))
        return practice, intake, run_audit(store.under(read_protocol()))


def fate_of(practice, intake):
    """The planted fate by case code."""
    number = dict(intake.links)
    return {
        case: practice.truth[number[case[:12]], case[13:-1], int(case[-1])]
        for case in intake.surgery
        if (number[case[:12]], case[13:-1], int(case[-1])) in practice.truth
    }


def test_every_sure_answer_on_healing_is_true(told):
    practice, intake, audit = told
    fates = fate_of(practice, intake)
    checked = 0
    for curve in audit.healing.overall:
        for day, group, _ in curve.shares:
            for case in group.cases.sure_yes:
                assert fates[case].heals_on <= day
            for case in group.cases.sure_no:
                assert fates[case].heals_on > day
            checked += group.cases.known
    assert checked > 300


def test_the_healing_curve_covers_the_planted_share(told):
    practice, intake, audit = told
    fates = fate_of(practice, intake)
    for curve in audit.healing.overall:
        days = np.array([fates[case].heals_on for case in curve.codes])
        for day, group, estimate in curve.shares:
            truth = np.mean(days <= day)
            least, most = group.cases.bounds
            assert least <= truth <= most
            assert estimate.low <= truth <= estimate.high
        assert curve.median.low <= np.median(days) <= curve.median.high
        assert curve.incidence.kkt_gap < 1e-6


def test_take_is_read_as_it_was(told):
    practice, intake, audit = told
    fates = fate_of(practice, intake)
    for group in audit.take.overall:
        assert all(fates[case].took for case in group.cases.sure_yes)
        assert not any(fates[case].took for case in group.cases.sure_no)
        assert group.cases.known > 0.8 * group.cases.asked


def test_the_flow_adds_up_to_the_operations_typed(told):
    practice, _, audit = told
    first, last = audit.flow.stages[0], audit.flow.stages[-1]
    left_out = sum(len(codes) for stage in audit.flow.stages for _, codes in stage.left_out)
    assert len(first.cases) == len(practice.rows["reconstructions"]) == len(last.cases) + left_out
    assert sum(len(codes) for _, codes in audit.flow.exits) == len(last.cases)


def test_hair_follows_the_planted_order_of_methods(told):
    _, _, audit = told
    (hair,) = [item for item in audit.scores.items if item.item == "hair" and item.species == "dog"]
    median = {group: value for group, value, _ in hair.medians}
    assert median["mesh_graft"] > median["piece_graft"]
    chance = {(a, b): estimate for a, b, estimate in hair.pairs}
    assert chance["mesh_graft", "piece_graft"].low > 0.5
