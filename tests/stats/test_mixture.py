import numpy as np
import pytest

from audit.errors import AuditError
from audit.stats.mixture import maximise

# Three cells, of which rows may come from the first two, the last two or the last: masses in proportion to counts.
COVER, WEIGHT = np.array([[1.0, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 1]]), np.array([2.0, 3, 5, 7])


def test_masses_of_cells_that_rows_tell_apart_are_their_shares():
    fit = maximise(COVER, WEIGHT, np.zeros(3, dtype=int), np.ones(1))
    assert fit.mass == pytest.approx([0.2, 0.3, 0.5])
    assert fit.loglik == pytest.approx(2 * np.log(0.2) + 3 * np.log(0.3) + 5 * np.log(0.5))
    assert fit.slope == pytest.approx([17])  # the weight in all, where no total is held


@pytest.mark.parametrize("start", [None, [0, 0, 1], [1, 1, 0]])
def test_totals_of_groups_are_held_and_each_is_shared_out_from_any_start(start):
    # The first two cells hold 0.8 in all, in the proportion 2 to 3.
    fit = maximise(COVER, WEIGHT, np.array([0, 0, 1]), np.array([0.8, 0.2]), None if start is None else np.array(start))
    assert fit.mass == pytest.approx([0.32, 0.48, 0.2])
    # Slopes by hand: 2 / 0.32 + 7 and 5 / 0.2 + 7.
    assert fit.slope == pytest.approx([13.25, 32])


def test_the_gap_is_as_small_as_is_said():
    rng = np.random.default_rng(3)
    begin, end = np.sort(rng.integers(0, 30, (2, 200)), axis=0)
    cells = np.arange(30)
    cover = ((begin[:, None] <= cells) & (cells <= end[:, None])).astype(float)
    fit = maximise(cover, np.ones(200), np.zeros(30, dtype=int), np.ones(1))
    assert 0 <= fit.gap <= 1e-10 * 200
    assert (cover / (cover @ fit.mass)[:, None]).sum(axis=0).max() - 200 <= 1e-7


@pytest.mark.parametrize("seed", range(12))
def test_the_maximum_is_reached_where_a_whole_step_would_overshoot(seed):
    """A few rows stand for thousands, so that the quadratic approximation is poor; proved by the gradient."""
    rng = np.random.default_rng(seed)
    rows, cells = rng.integers(4, 12), rng.integers(3, 6)
    cover = (rng.random((rows, cells)) < 0.5).astype(float)
    cover[np.arange(rows), rng.integers(0, cells, rows)] = 1
    weight = rng.choice([1.0, 5, 100, 10_000], rows)
    fit = maximise(cover, weight, np.zeros(cells, dtype=int), np.ones(1))
    n = weight.sum()
    assert fit.mass.min() >= 0
    assert fit.mass.sum() == pytest.approx(1)
    assert ((weight / (cover @ fit.mass)) @ cover).max() - n <= 1e-10 * n + 1e-9
    assert fit.iterations <= 15


def test_what_is_not_settled_is_refused():
    cover, weight = np.array([[1.0, 1, 0], [0, 1, 1], [1, 0, 1], [1, 0, 0]]), np.array([10_000.0, 1, 5, 100])
    assert maximise(cover, weight, np.zeros(3, dtype=int), np.ones(1)).gap <= 1e-10 * weight.sum()
    with pytest.raises(AuditError, match="not settled in 1 rounds"):
        maximise(cover, weight, np.zeros(3, dtype=int), np.ones(1), limit=1)
