"""The tally of days: whichever way it is counted, it is the same table."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audit.stats.tallies import SORTED_BLOCK, day_table

DAYS = st.one_of(st.integers(0, 30).map(float), st.floats(0, 1e6, allow_subnormal=False), st.just(1e-70), st.just(1e70))


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(DAYS, st.integers(0, 5)), min_size=1, max_size=60))
def test_packed_sort_counts_what_plain_counting_does(rows):
    day, kind = np.array([d for d, _ in rows]), np.array([k for _, k in rows])
    distinct, table = day_table(day, kind, 6)
    assert distinct.tolist() == sorted(set(day.tolist()))
    for value, counts in zip(distinct, table, strict=True):
        assert counts.tolist() == np.bincount(kind[day == value], minlength=6).tolist()
    weighted = day_table(day, kind, 6, np.ones(len(day)))
    np.testing.assert_array_equal(weighted[1], table)


def test_whole_days_and_the_same_days_as_fractions_agree():
    rng = np.random.default_rng(1)
    day, kind = rng.integers(0, 121, 70_000).astype(np.int16), rng.integers(0, 2, 70_000)
    whole, real, fractions = day_table(day, kind, 2), day_table(day.astype(float), kind, 2), day_table(day / 2, kind, 2)
    for (distinct, table), unit in ((real, 1), (fractions, 2)):
        np.testing.assert_array_equal(distinct * unit, whole[0])
        np.testing.assert_array_equal(table, whole[1])


def test_a_day_cut_by_the_end_of_a_block_of_sorted_rows_stays_one_day():
    day = np.repeat([0.5, 1.5, 2.5], [SORTED_BLOCK - 2, 2 * SORTED_BLOCK + 5, 3])
    distinct, table = day_table(day, np.arange(len(day)) % 3, 3)
    assert distinct.tolist() == [0.5, 1.5, 2.5]
    assert table.tolist() == [np.bincount(np.flatnonzero(day == value) % 3).tolist() for value in distinct]


@pytest.mark.parametrize("day", [[0.0, -0.0, 0.0, 0.5], [0.0, -0.0, 0.0, 2.0], [0, 0, 0, 3]])
def test_day_zero_is_one_day(day):
    distinct, table = day_table(np.array(day), np.array([0, 1, 1, 1]), 2)
    assert distinct.tolist() == [0, day[-1]]
    assert table.tolist() == [[1, 2], [0, 1]]
