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


def test_limits_by_animal_are_those_of_leaving_each_out_by_hand():
    # Fisher's scale and Tukey's jackknife error, from the published coefficient of each shortened table.
    noise = np.random.default_rng(4).normal(0, [[12], [5], [5]], size=(3, 24))
    x, animal = np.column_stack([70 + noise[0] + noise[1], 73 + noise[0] + noise[2]]), np.repeat(np.arange(12), 2)
    found = intraclass_correlation(x, animal=animal)
    z = np.arctanh([intraclass_correlation(x[animal != a], fewest=2).value for a in range(12)])
    reach = 2.200985 * np.sqrt(11 / 12 * ((z - z.mean()) ** 2).sum())  # t with 11 degrees, 97.5 % (any table)
    centre = np.arctanh(intraclass_correlation(x).value)
    assert [found.low, found.high] == pytest.approx(np.tanh([centre - reach, centre + reach]), abs=1e-6)
    assert (found.animals, found.denominator) == (12, 24)


def test_photographs_twice_over_from_the_same_animals_tell_no_more():
    x = np.random.default_rng(5).normal(70, 12, size=(20, 1)) + np.random.default_rng(6).normal(0, 5, size=(20, 2))
    once, twice = (intraclass_correlation(np.tile(x, (k, 1)), animal=list(range(20)) * k) for k in (1, 2))
    assert [twice.low, twice.high] == pytest.approx([once.low, once.high], abs=0.02)


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
