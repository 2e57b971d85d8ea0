"""What is planted comes back by plain arithmetic when there is much of it."""

from math import exp, inf, log, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from synthetic_data.cases import draw_course
from synthetic_data.truth import Fate, Planted, draw_fate

MANY = 10_000
WOUND = ("mesh_full", "dog", "carpus", "granulating")


def fates(planted: Planted, *, wounds: int = 1, seed: int = 3) -> list[tuple[Fate, ...]]:
    """The fates of many animals, so many wounds each."""
    rng = np.random.default_rng(seed)
    effects = rng.standard_normal((MANY, 2))
    return [tuple(draw_fate(rng, planted, tuple(effect), *WOUND) for _ in range(wounds)) for effect in effects]


def within(share: float, expected: float) -> bool:
    """Whether a share of MANY lies within four standard errors of what it should be."""
    return abs(share - expected) < 4 * sqrt(expected * (1 - expected) / MANY)


@pytest.mark.parametrize("day", [14, 21, 28, 42])
def test_share_healed_by_a_day_is_that_of_the_log_normal(day):
    planted = Planted(cat_time=1.0, distal_time=1.25, log_sd=0.4)
    healed = np.mean([fate.heals_on <= day for (fate,) in fates(planted)])
    assert within(healed, NormalDist().cdf(log(day / (26 * 1.25)) / 0.4))


def test_share_of_take_follows_the_planted_odds():
    planted = Planted(distal_odds=0.5)
    odds = 0.86 / 0.14 * 0.5
    assert within(np.mean([fate.took for (fate,) in fates(planted)]), odds / (1 + odds))
    assert all((fate.viable_pct >= 75) == fate.took for (fate,) in fates(planted))


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.6])
def test_two_wounds_of_an_animal_are_correlated_as_planted(rho):
    planted = Planted(intra_animal=rho)
    pairs = fates(planted, wounds=2)
    days = np.log([[fate.heals_on for fate in pair] for pair in pairs])
    assert np.corrcoef(days.T)[0, 1] == pytest.approx(rho, abs=4 / sqrt(MANY))

    limit = NormalDist().inv_cdf(planted.take_chance(*WOUND))
    both = multivariate_normal.cdf([limit, limit], cov=[[1, rho], [rho, 1]])
    assert within(np.mean([pair[0].took and pair[1].took for pair in pairs]), float(both))


def test_exits_come_at_the_planted_rates():
    planted = Planted(exits={"died_unrelated": 0.004, "amputated_wound": 0.006}, loss=0.01)
    drawn = [fate for (fate,) in fates(planted)]
    for reason, rate in {"died_unrelated": 0.004, "amputated_wound": 0.006, "lost": 0.01}.items():
        left = np.mean([fate.leaves == reason and fate.leaves_on <= 28 for fate in drawn])
        assert within(left, rate / 0.02 * (1 - exp(-0.02 * 28)))


def test_loss_can_follow_a_failed_take():
    planted = Planted(exits={}, loss=0.01, loss_without_take=3.0)
    drawn = [fate for (fate,) in fates(planted)]
    for took, rate in ((True, 0.01), (False, 0.03)):
        lost = [fate.leaves_on <= 28 for fate in drawn if fate.took == took]
        expected = 1 - exp(-rate * 28)
        assert np.mean(lost) == pytest.approx(expected, abs=4 * sqrt(expected * (1 - expected) / len(lost)))


@pytest.mark.parametrize("schedule", ["dense", "weekly", "sparse"])
def test_what_is_seen_encloses_what_is_true(schedule):
    planted = Planted(exits={}, loss=0.0, schedule=schedule)
    rng = np.random.default_rng(8)
    pairs = [(fate, draw_course(rng, planted, fate)) for (fate,) in fates(planted)[:2000]]
    assert all(course.last_open < fate.heals_on <= (course.seen_healed or inf) for fate, course in pairs)

    true = np.mean([fate.heals_on <= 21 for fate, _ in pairs])
    sure = np.mean([(course.seen_healed or inf) <= 21 for _, course in pairs])
    possible = np.mean([course.last_open < 21 for _, course in pairs])
    assert sure < true < possible
    assert possible - sure > (0.05 if schedule == "dense" else 0.15)
