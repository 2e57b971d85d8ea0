"""For each method one invented practice, and whether the interval held the truth or the test rejected."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from audit.results import Estimate
from audit.stats.aft import aft
from audit.stats.competing import _Incidence as Incidence
from audit.stats.competing import competing_quantile_interval, competing_share_interval
from audit.stats.hodges_lehmann import hodges_lehmann
from audit.stats.interval_log_rank import interval_log_rank
from audit.stats.kaplan_meier import follow_up
from audit.stats.kruskal import kruskal_wallis
from audit.stats.median import median_interval
from audit.stats.ordinal import superiority
from audit.stats.percent import percent_take
from audit.stats.pooling import pooled_shares
from audit.stats.profile import ByDay, allowance, design_effect_by_day, holds_share, quantile_interval
from audit.stats.proportions import clustered_share, newcombe_difference, permutation_p
from audit.stats.recurrent import mean_cumulative, phase_rates
from audit.stats.restricted_mean import restricted_mean
from tests.benchmarks.coverage_practice import (
    DAILY,
    EXACT,
    EXIT,
    LOG_SD,
    LOST,
    MEDIAN,
    PLANTED,
    Healing,
    Setting,
    alike,
    healing,
    median_day,
    normal,
    owners,
    restricted_days,
    share_healed,
    share_left,
)

LEVEL = 0.95
TAKES = PLANTED.take["mesh_graft"]
BAND_DAYS = (10, 14, 18, 24, 30, 36, 48, 60)
Hits = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Measure:
    """
    One kind of practice to draw, and the share of the runs that it gets (less where a run is slow).

    `run` returns for each quantity 1 where the interval held the truth, or 1 where the test rejected; an average over
    several intervals lies between.
    """

    run: Callable[[np.random.Generator, Setting], Hits]
    animals: tuple[int, ...] = (8, 20, 40, 200)
    schedules: tuple[str, ...] = ("",)
    correlations: tuple[float, ...] = (0.0, 0.3, 0.6)
    portion: float = 1.0

    @property
    def settings(self) -> tuple[Setting, ...]:
        """Every practice that it is run in."""
        return tuple(Setting(n, s, c) for s in self.schedules for c in self.correlations for n in self.animals)


def holds(estimate: Estimate, truth: float) -> bool:
    """Whether the interval holds the truth; an open end holds everything beyond."""
    low, high = (end if end is not None else side * inf for end, side in ((estimate.low, -1), (estimate.high, 1)))
    return low - 1e-9 <= truth <= high + 1e-9


def halves(setting: Setting) -> tuple[int, int]:
    """The animals of two groups of one practice."""
    return setting.animals // 2, setting.animals - setting.animals // 2


def by_animal(rng: np.random.Generator, setting: Setting, animals: int, chance: float) -> tuple[NDArray, NDArray]:
    """Yes outcomes and grafts of each animal."""
    animal = owners(rng, setting, animals)
    return np.bincount(animal, alike(rng, animal, setting.correlation, chance)).astype(int), np.bincount(animal)


def shares(rng: np.random.Generator, setting: Setting) -> Hits:
    """Shares clustered by animal, as take and complications are counted, and two groups of them; truths vary."""
    take, take_there, harm = rng.uniform(0.7, 0.95), rng.uniform(0.6, 0.95), rng.uniform(0.05, 0.4)
    first, second = halves(setting)
    took, harmed = (clustered_share(*by_animal(rng, setting, setting.animals, p)).estimate for p in (take, harm))
    here, there, same = (
        by_animal(rng, setting, n, p) for n, p in ((first, take), (second, take_there), (second, take))
    )
    difference = newcombe_difference(clustered_share(*here).estimate, clustered_share(*there).estimate)
    return {
        "share with take": holds(took, take),
        "share with a complication": holds(harmed, harm),
        "difference of two shares": holds(difference, take - take_there),
        "test: two shares": permutation_p(here, same, rng=rng, draws=999)[0] <= 0.05,
    }


def pooled(rng: np.random.Generator, setting: Setting) -> Hits:
    """Five levels with unlike numbers of cases: shares from one distribution, or the rare levels furthest out."""
    drawn, fixed = rng.beta(12, 3, 5), np.array([0.92, 0.88, 0.85, 0.75, 0.70])
    cases = rng.multinomial(setting.animals, [0.1, 0.35, 0.2, 0.25, 0.1])

    def share_held(truth: NDArray) -> float:
        found = pooled_shares(list("abcde"), rng.binomial(cases, truth), cases).levels
        return float(np.mean([holds(level, share) for level, share in zip(found, truth, strict=True)]))

    return {
        "partially pooled shares, average": share_held(drawn),
        "the same, rare levels furthest out": share_held(fixed),
    }


def percent(rng: np.random.Generator, setting: Setting) -> Hits:
    """Percent take: mostly near 100, now and then far below."""
    animal = owners(rng, setting)
    took = alike(rng, animal, setting.correlation, TAKES)
    viable = np.where(took, 75 + 25 * rng.beta(3, 1, len(animal)), 74 * rng.beta(1.6, 1.4, len(animal)))
    truth = TAKES * (75 + 25 * 3 / 4) + (1 - TAKES) * 74 * 1.6 / 3
    return {"mean percent take": holds(percent_take(viable, animal=animal, rng=rng).mean, truth)}


def design_effect_of(seen: Healing, of: int) -> ByDay:
    """By day, as the audit finds it for healing; whoever left otherwise never leaves by this cause."""
    return design_effect_by_day(seen.left, seen.right, seen.animal, never=(seen.cause > 0) & (seen.cause != of))


def healed(rng: np.random.Generator, setting: Setting, *, short: bool = True) -> Hits:
    """
    Healing with competing exits, read as the audit reads it; truths vary.

    The `short` way asks whether the likelihood of the truth is near enough, which is to lie in the interval; the long
    one asks the public functions for the limits.
    """
    median, exits = rng.uniform(17, 33), rng.uniform(0.001, 0.006)
    seen = healing(rng, setting, median=median, exits=exits)
    rows = seen.left, seen.right, seen.cause
    effect = {of: design_effect_of(seen, of) for of in (1, 2)}
    allowed = {of: allowance(LEVEL, effect[of], inf) for of in (1, 2)}
    curves = {of: Incidence.of_cause(*rows, of, None) for of in (1, 2)}

    def share_held(day: float, of: int = 1) -> bool:
        truth = (share_healed if of == 1 else share_left)(day, median=median, exits=exits)
        if short:
            return holds_share(curves[of], day, truth, allowed[of])
        return holds(competing_share_interval(*rows, day, of=of, design_effect=effect[of]), truth)

    half = median_day(median=median, exits=exits)
    if short:
        median_held = holds_share(curves[1], half, 0.5, allowed[1])
    else:
        median_held = holds(competing_quantile_interval(*rows, 0.5, design_effect=effect[1]), half)
    return {
        "healed by day 21": share_held(21),
        "healed by day 42": share_held(42),
        "median day of healing": median_held,
        "band of the curve, average": float(np.mean([share_held(day) for day in BAND_DAYS])),
        "left by an exit by day 42": share_held(42, 2),
    }


DONOR_MEDIAN = 8.5


def donor(rng: np.random.Generator, setting: Setting) -> Hits:
    """Donor sites: quick to heal, without exits, one to three an animal."""
    seen = healing(rng, setting, median=DONOR_MEDIAN, exits=0)
    effect = design_effect_by_day(seen.left, seen.right, seen.animal)
    found = quantile_interval(seen.left, seen.right, 0.5, design_effect=effect)
    return {"median day of donor healing": holds(found, DONOR_MEDIAN)}


def restricted(rng: np.random.Generator, setting: Setting) -> Hits:
    """Mean days up to day 60; 200 bootstrap draws instead of 2,000."""
    seen = healing(rng, setting, exits=0)
    found = restricted_mean(seen.left, seen.right, 60, rng, animal=seen.animal, draws=200)
    return {"mean days to healing up to day 60": holds(found, RESTRICTED)}


RESTRICTED = restricted_days(60)


def followed(rng: np.random.Generator, setting: Setting) -> Hits:
    """Watched for 60 to 180 days unless lost or dead; death, of the whole animal, censors the follow-up."""
    animal = owners(rng, setting)
    until, gone = (ndtr(normal(rng, animal, setting.correlation)) for _ in range(2))
    watched = np.minimum(60 + np.floor(121 * until), np.ceil(-np.log1p(-gone) / LOST))
    dead = np.ceil(rng.exponential(1 / EXIT, setting.animals))[animal]
    found = follow_up(np.minimum(watched, dead), dead < watched, animal=animal)
    return {"median follow-up": holds(found, FOLLOWED)}


def _median_follow_up() -> float:
    days = np.arange(1, 181)
    beyond = np.exp(-LOST * days) * (1 - np.clip((days - 59) / 121, 0, 1))
    return float(days[np.argmax(beyond <= 0.5)])


FOLLOWED = _median_follow_up()
RATES = (0.5, 0.3, 0.2, 0.1)
CHANGES = np.repeat(RATES, [8, 7, 7, 99])


def bandages(rng: np.random.Generator, setting: Setting) -> Hits:
    """Bandage changes at a rate that falls by phase and differs between grafts, until healed or lost."""
    animal = owners(rng, setting)
    grafts = len(animal)
    eager = np.exp(0.5 * normal(rng, animal, setting.correlation) - 0.125)
    ends = np.minimum(MEDIAN * np.exp(LOG_SD * rng.standard_normal(grafts)), rng.exponential(1 / LOST, grafts))
    ends = np.clip(np.ceil(ends), 1, 120)
    changes = rng.poisson(eager[:, None] * CHANGES) * (np.arange(121) <= ends[:, None])
    graft, day = np.nonzero(changes)
    seen = np.repeat(graft, changes[graft, day]), np.repeat(day, changes[graft, day]), np.arange(grafts), ends
    curve = mean_cumulative(*seen, animal=animal)
    truth = np.cumsum(CHANGES)
    at = [(np.searchsorted(curve.day, d, side="right") - 1, truth[d]) for d in (7, 14, 21) if d <= ends.max()]
    rates = [(e, r) for e, r in zip(phase_rates(*seen, animal=animal), RATES, strict=True) if e.value is not None]
    return {
        "mean bandage changes by day 7, 14, 21, average": np.mean(
            [i >= 0 and curve.low[i] <= mean <= curve.high[i] for i, mean in at]
        ),
        "bandage changes a day in a phase, average": np.mean([holds(e, rate) for e, rate in rates]),
    }


def middle(rng: np.random.Generator, setting: Setting) -> Hits:
    """Measured values of one graft an animal."""
    return {
        "median of measured values": holds(
            median_interval(np.exp(rng.standard_normal(setting.animals)), quantity=""), 1
        )
    }


CUTS, SHIFT = np.array([-1.2, -0.4, 0.3, 1.2]), 0.7


def _superior() -> float:
    first, second = (np.diff(np.concatenate(([0.0], ndtr(CUTS - shift), [1.0]))) for shift in (SHIFT, 0))
    return float(first @ (np.concatenate(([0.0], np.cumsum(second)[:-1])) + second / 2))


SUPERIOR = _superior()


def grades(rng: np.random.Generator, setting: Setting) -> Hits:
    """Grades of five steps in two groups with a difference, and in three groups without."""

    def graded(animals: int, shift: float = 0.0) -> tuple[NDArray, NDArray]:
        animal = owners(rng, setting, animals)
        return np.searchsorted(CUTS, normal(rng, animal, setting.correlation) + shift), animal

    first, second = halves(setting)
    (a, a_animal), (b, b_animal) = graded(first, SHIFT), graded(second)
    higher = superiority(a, b, first_animal=a_animal, second_animal=b_animal + first)
    sizes = [len(part) for part in np.array_split(np.arange(setting.animals), 3)]
    three, homes = zip(*(graded(size) for size in sizes), strict=True)
    homes = [home + 1000 * k for k, home in enumerate(homes)]
    return {
        "probability of superiority": holds(higher, SUPERIOR),
        "test: three groups of grades": kruskal_wallis(three, animal=homes, rng=rng, draws=199).p <= 0.05,
    }


def shifted(rng: np.random.Generator, setting: Setting) -> Hits:
    """Scores on a scale with equal steps in two groups, one graft an animal."""
    first, second = halves(setting)
    found = hodges_lehmann(rng.standard_normal(first) + 1, rng.standard_normal(second))
    return {"shift of a score": holds(found, 1)}


def curves(rng: np.random.Generator, setting: Setting) -> Hits:
    """Two groups that heal alike, seen at visits; groups by animal."""
    seen = healing(rng, setting, exits=0)
    group = (seen.animal % 2).astype(str)
    found = interval_log_rank(seen.left, seen.right, group, rng, animal=seen.animal, draws=199)
    return {"test: healing curves of two groups": found.p <= 0.05}


def ratios(rng: np.random.Generator, setting: Setting) -> Hits:
    """The time ratio of a factor that half of the animals have, days seen at visits and not Weibull but log-normal."""
    seen = healing(rng, setting, exits=0, slower=np.where(np.arange(setting.animals) % 2, 1.3, 1.0))
    has = (seen.animal % 2)[:, None]
    fit = aft(seen.left, seen.right, has, ["factor"], animal=seen.animal)
    return {"time ratio of a factor": holds(fit.time_ratios[0], 1.3)}


VISITS = ("sparse", "weekly", "dense")
OUTCOMES = (
    Measure(shares),
    Measure(percent),
    Measure(pooled, correlations=(0.0,)),
    Measure(healed, schedules=(EXACT, DAILY, *VISITS)),
    Measure(donor, schedules=(EXACT, DAILY, "weekly", "dense")),
    Measure(restricted, schedules=(EXACT, "weekly", "dense"), correlations=(0.0, 0.6), portion=0.25),
    Measure(ratios, animals=(20, 40, 200), schedules=("weekly",), correlations=(0.0, 0.6)),
    Measure(bandages),
    Measure(grades),
    Measure(shifted, correlations=(0.0,)),
    Measure(middle, correlations=(0.0,)),
    Measure(followed),
    Measure(curves, animals=(20, 40, 200), schedules=("weekly", "dense"), correlations=(0.0, 0.6)),
)
