import numpy as np
import pytest
from published import published
from scipy.stats import f

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


def test_correlation_of_three_photographs_by_hand():
    # Two raters give (1, 2), (3, 4), (5, 9): mean squares 15.5 between photographs, 6 between raters and 1.5 left
    # over, so 14 / (17 + 2 x 4.5 / 3).
    found = intraclass_correlation([[1, 2], [3, 4], [5, 9]], fewest=2)
    assert found.value == pytest.approx(0.7)


def test_limits_of_two_raters_are_the_published_ones_at_another_level():
    # Shrout PE, Fleiss JL. Psychol Bull 1979;86:420-428, the formula for ICC(2,1) written out anew.
    x = np.array(published("agreement", "icc-shrout-fleiss").data["ratings"], dtype=float)
    n, k = x.shape
    rows, columns = k * x.mean(axis=1).var() * n / (n - 1), n * x.mean(axis=0).var() * k / (k - 1)
    rest = (x.var() * n * k - rows * (n - 1) - columns * (k - 1)) / ((n - 1) * (k - 1))
    icc = (rows - rest) / (rows + (k - 1) * rest + k * (columns - rest) / n)
    a, b = k * icc / (n * (1 - icc)), 1 + k * icc * (n - 1) / (n * (1 - icc))
    v = (a * columns + b * rest) ** 2 / ((a * columns) ** 2 / (k - 1) + (b * rest) ** 2 / ((n - 1) * (k - 1)))
    above, below = f.ppf(0.95, n - 1, v), f.ppf(0.95, v, n - 1)
    low = n * (rows - above * rest) / (above * (k * columns + (k * n - k - n) * rest) + n * rows)
    high = n * (below * rows - rest) / (k * columns + (k * n - k - n) * rest + n * below * rows)
    found = intraclass_correlation(x, fewest=6, level=0.9)
    assert (found.value, found.low, found.high) == pytest.approx((icc, low, high), abs=1e-10)


def test_each_limit_of_agreement_has_its_interval_by_hand():
    # Differences -1, 0, 1, 4: mean 1, variance 14 / 3; t with 3 degrees of freedom, 90 %: 2.353363 (any table).
    found = limits_of_agreement([1, 2, 4, 9], [2, 2, 3, 5], level=0.9, fewest=4)
    deviation = np.sqrt(14 / 3)
    assert found.standard_deviation == pytest.approx(deviation)
    for limit, middle, factor in ((found.bias, 0, 1), (found.lower, -1, 3), (found.upper, 1, 3)):
        value, half = 1 + middle * 1.959964 * deviation, 2.353363 * np.sqrt(factor / 4) * deviation
        assert (limit.value, limit.low, limit.high) == pytest.approx((value, value - half, value + half), abs=1e-5)
        assert (limit.level, limit.denominator) == (0.9, 4)


def test_the_fewest_measurements_are_enough_and_a_list_or_one_rater_is_refused():
    x = np.random.default_rng(7).normal(size=(15, 2))
    assert intraclass_correlation(x).denominator == 15
    assert limits_of_agreement(*x.T).bias.denominator == 15
    with pytest.raises(AuditError, match="are no table"):
        intraclass_correlation(x[:, 0])
    for few in (x[:, :1], x[:1]):
        with pytest.raises(TooFewData, match="too few for a correlation"):
            intraclass_correlation(few, fewest=1)
    with pytest.raises(TooFewData, match="1 photographs are too few"):
        limits_of_agreement([1], [2], fewest=1)


def test_no_interval_where_one_animal_alone_varies():
    # Without the second animal all measurements are alike, so its weight cannot be judged.
    found = intraclass_correlation([[5, 5]] * 3 + [[5, 7], [9, 6]], animal=[0, 0, 0, 1, 1], fewest=2)
    assert (found.low, found.high, found.animals) == (None, None, 2)
    assert "no variation" in found.notes[0]


def test_no_interval_where_all_agree_without_one_animal():
    found = intraclass_correlation([[2, 2], [4, 4], [4, 6], [2, 4]], animal=["a", "a", "b", "b"], fewest=2)
    assert 0 < found.value < 1
    assert (found.low, found.high) == (None, None)
