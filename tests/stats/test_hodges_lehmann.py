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
