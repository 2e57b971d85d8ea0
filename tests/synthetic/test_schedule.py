"""The days of looking."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from synthetic_data.schedule import SCHEDULES, examinations


@given(st.integers(0, 2**32), st.sampled_from(sorted(SCHEDULES)), st.floats(0, 200), st.floats(0, 1))
def test_looks_are_in_order_one_a_day_and_end_in_time(seed, schedule, until, prompted):
    seen = examinations(np.random.default_rng(seed), schedule, until=until, prompted=prompted)
    assert all(early.day < late.day for early, late in pairwise(seen))
    assert all(1 <= examination.day <= until for examination in seen)


def test_the_planned_days():
    assert SCHEDULES["dense"][:12] == (2, 4, 6, 8, 10, 14, 18, 22, 26, 30, 37, 44)
    assert SCHEDULES["weekly"][:3] == (7, 14, 21)
    assert SCHEDULES["sparse"][:7] == (3, 6, 9, 12, 28, 42, 56)


@pytest.mark.parametrize("schedule", sorted(SCHEDULES))
def test_looks_lie_within_a_day_or_so_of_the_plan(schedule):
    rng = np.random.default_rng(4)
    seen = [[examination.day for examination in examinations(rng, schedule, until=100)] for _ in range(500)]
    planned = SCHEDULES[schedule][: min(map(len, seen))]
    moved = np.array([days[: len(planned)] for days in seen]) - planned
    assert set(np.unique(moved)) <= {-1, 0, 1, 2}
    assert np.abs(moved.mean(axis=0)).max() < 0.35


def test_prompted_looks_fill_the_stated_share_of_gaps():
    rng = np.random.default_rng(5)
    seen = [examinations(rng, "weekly", until=100, prompted=0.2) for _ in range(500)]
    prompted = sum(examination.scheduled == "prompted" for each in seen for examination in each)
    gaps = sum(examination.scheduled == "scheduled" for each in seen for examination in each) - len(seen)
    assert prompted / gaps == pytest.approx(0.2, abs=4 * (0.2 * 0.8 / gaps) ** 0.5)
