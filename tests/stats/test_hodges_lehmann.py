import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published

from audit.errors import EmptyGroup
from audit.stats.hodges_lehmann import hodges_lehmann

SCORES = st.lists(st.integers(0, 10), min_size=4, max_size=12)


# Hollander M, Wolfe DA. Nonparametric Statistical Methods, 1973: permeability of membranes.
def test_matches_hollander_and_wolfe():
    case = published("ordinal", "ordinal-hodges-lehmann")
    found = hodges_lehmann(case.data["x"], case.data["y"])
    assert found.value == case["hl"]
    assert [found.low, found.high] == case["ci_95"]


@given(SCORES, SCORES, st.integers(-3, 3))
@settings(deadline=None, max_examples=40)
def test_moves_with_the_scores_and_mirrors(first, second, shift):
    found = hodges_lehmann(first, second)
    moved = hodges_lehmann(np.array(first) + shift, second)
    mirrored = hodges_lehmann(second, first)
    assert found.value == np.median(np.subtract.outer(first, second))
    assert (moved.value, moved.low, moved.high) == (found.value + shift, found.low + shift, found.high + shift)
    assert (-mirrored.value, -mirrored.high, -mirrored.low) == (found.value, found.low, found.high)
    assert found.low <= found.value <= found.high


def test_exact_and_normal_limits_meet_where_one_takes_over(monkeypatch):
    generator = np.random.default_rng(3)
    first, second = generator.normal(1, 1, size=45), generator.normal(0, 1, size=45)
    exact = hodges_lehmann(first, second)
    monkeypatch.setattr("audit.stats.hodges_lehmann.EXACT_BELOW", 0)
    normal = hodges_lehmann(first, second)
    assert exact.method != normal.method
    assert (normal.low, normal.high) == pytest.approx((exact.low, exact.high), abs=0.02)


def test_too_few_have_no_interval_and_none_is_refused():
    found = hodges_lehmann([1, 2, 3], [4, 5, 6])
    assert (found.value, found.low, found.high) == (-3, None, None)
    assert "too small" in found.notes[0]
    with pytest.raises(EmptyGroup):
        hodges_lehmann([], [1])


# Critical values of the Mann-Whitney count, two-sided 0.05, from any table: 0 for 4 and 4, 2 for 5 and 5, 13 for 8
# and 8.
@pytest.mark.parametrize(("n", "outside"), [(4, 1), (5, 3), (8, 14)])
def test_limits_are_the_differences_of_the_tables(n, outside):
    first, second = 100.0 * np.arange(n), np.arange(n) ** 1.5
    ordered = np.sort(np.subtract.outer(first, second), axis=None)
    found = hodges_lehmann(first, second)
    assert (found.low, found.high) == pytest.approx((ordered[outside - 1], ordered[-outside]))
    assert found.method == "Hodges-Lehmann, exact"


def test_fifty_scores_in_one_group_use_the_normal_limits_with_ties():
    # 50 scores of 0 to 4 against 5 of 2 or 3, by hand: ties of 10, 10, 13, 12 and 10 in 55.
    first, second = np.tile(np.arange(5), 10), np.array([2, 2, 2, 3, 3])
    assert hodges_lehmann(first[:49], second).method == "Hodges-Lehmann, exact"
    found = hodges_lehmann(first, second)
    tied = np.array([10, 10, 13, 12, 10])
    variance = 250 / 12 * (56 - (tied**3 - tied).sum() / (55 * 54))
    place = int(np.floor(125 - 1.959964 * np.sqrt(variance)))
    ordered = np.sort(np.subtract.outer(first, second), axis=None)
    assert (found.low, found.high) == (ordered[place - 1], ordered[-place])
    assert (found.value, found.denominator, found.animals) == (np.median(ordered), 55, 55)
    assert hodges_lehmann(np.arange(60), [3]).low is None  # 30 - 1.96 x 17.6 is below the first difference


def test_differences_equal_but_for_rounding_are_one():
    found = hodges_lehmann([0.3, 0.3, 0.6, 0.6], [0.1, 0.2, 0.2, 0.1])
    assert found.value == pytest.approx(0.3)
