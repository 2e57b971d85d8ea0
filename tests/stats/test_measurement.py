import numpy as np
import pytest
from published import published

from audit.errors import AuditError, TooFewData
from audit.stats.measurement import intraclass_correlation, limits_of_agreement


# Shrout PE, Fleiss JL. Psychol Bull 1979;86:420-428: six targets, four judges; limits from R package psych.
def test_correlation_matches_shrout_and_fleiss():
    case = published("agreement", "icc-shrout-fleiss")
    found = intraclass_correlation(case.data["ratings"], fewest=6)
    assert found.value == pytest.approx(case.value("icc")[1], abs=1e-8)
    assert [found.low, found.high] == case["ci_21"]


# Bland JM, Altman DG. Lancet 1986;1:307-310: peak flow by two meters.
def test_limits_match_bland_and_altman():
    case = published("agreement", "bland-altman-pefr")
    found = limits_of_agreement(case.data["wright"], case.data["mini"])
    assert found.bias.value == case["mean_difference"]
    assert found.standard_deviation == case["sd"]
    assert [found.bias.low, found.bias.high] == case["ci_bias"]
    assert [found.lower.value, found.upper.value] == pytest.approx(case.value("limits_factor_1_96"), abs=2e-3)
    half = found.bias.high - found.bias.value
    assert (found.upper.high - found.upper.value) / half * case.value("se_mean") == case["se_limit"]


def test_rater_order_changes_nothing_and_a_constant_offset_lowers_agreement():
    x = np.random.default_rng(2).normal(50, 20, size=(20, 1)) + np.random.default_rng(3).normal(0, 5, size=(20, 3))
    found = intraclass_correlation(x)
    assert intraclass_correlation(x[::-1, ::-1]).value == pytest.approx(found.value)
    assert intraclass_correlation(x + np.array([0, 0, 15])).value < found.value


def test_degenerate_tables_have_no_interval():
    alike = intraclass_correlation(np.full((20, 2), 90.0))
    assert (alike.value, alike.low) == (None, None)
    same = intraclass_correlation(np.column_stack([np.arange(20.0)] * 2))
    assert (same.value, same.low) == (1.0, None)
    assert "no variation" in same.notes[0]


def test_few_or_missing_measurements_are_refused():
    with pytest.raises(TooFewData, match="6 photographs"):
        intraclass_correlation(np.ones((6, 3)))
    with pytest.raises(AuditError, match="missing"):
        intraclass_correlation([[1, np.nan]] * 20)
    with pytest.raises(TooFewData, match="3 photographs"):
        limits_of_agreement([1, 2, 3], [1, 2, 3])
