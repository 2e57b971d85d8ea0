"""Invented practices for the measure of coverage, drawn all at once from a planted truth that is known exactly."""

from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from synthetic_data.schedule import SCHEDULES
from synthetic_data.truth import Planted

PLANTED = Planted()
MEDIAN, LOG_SD = PLANTED.healing_days["sheet_graft"], PLANTED.log_sd
LOST, EXIT = 0.0044, 0.0022  # a day: by day 24 one in ten is lost, one in twenty has died or lost the limb
LAST_DAY = 150
EXACT, DAILY = "exact", "daily"  # healing known to the minute, and a look every day: not how a practice sees it
GRAFTS, CHANCE = (1, 2, 3), (0.6, 0.3, 0.1)

Days = NDArray[np.float64]
Codes = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Setting:
    """A practice of so many animals; with a correlation above 0 they have 1.5 grafts each on average."""

    animals: int
    schedule: str = ""
    correlation: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Healing:
    """Days to healing as a practice sees them, in the form that `audit.stats.competing` asks for."""

    animal: Codes
    left: Days
    right: Days
    cause: Codes


def owners(rng: np.random.Generator, setting: Setting, animals: int | None = None) -> Codes:
    """The animal of each graft, counted from 0."""
    count = setting.animals if animals is None else animals
    if setting.correlation == 0:
        return np.arange(count)
    return np.repeat(np.arange(count), rng.choice(GRAFTS, count, p=CHANCE))


def normal(rng: np.random.Generator, animal: Codes, correlation: float) -> Days:
    """Standard normal values, correlated between the grafts of one animal."""
    shared = rng.standard_normal(int(animal.max()) + 1)[animal]
    return sqrt(correlation) * shared + sqrt(1 - correlation) * rng.standard_normal(len(animal))


def alike(rng: np.random.Generator, animal: Codes, correlation: float, chance: float) -> Codes:
    """Yes or no with this chance; two grafts of one animal have outcomes with just this correlation."""
    shared = (rng.random(int(animal.max()) + 1) < chance)[animal]
    follows = rng.random(len(animal)) < sqrt(correlation)
    return np.where(follows, shared, rng.random(len(animal)) < chance).astype(np.int64)


def visits(rng: np.random.Generator, schedule: str, grafts: int) -> Codes:
    """Visit days of each graft (rows): every day, or the planned ones, one time in three each a day early or late."""
    if schedule == DAILY:
        return np.tile(np.arange(1, LAST_DAY + 1), (grafts, 1))
    planned = np.array([day for day in SCHEDULES[schedule] if day <= LAST_DAY])
    return planned + rng.integers(-1, 2, (grafts, len(planned)))  # planned days are two or more apart


def healing(
    rng: np.random.Generator,
    setting: Setting,
    *,
    median: float = MEDIAN,
    exits: float = EXIT,
    slower: Days | None = None,
) -> Healing:
    """
    One practice. Healing days are log-normal, seen at visits until healed; exits are dated and the wound is looked at
    then; who is lost is never seen again. `slower` multiplies the days of each animal.
    """
    animal = owners(rng, setting)
    grafts = len(animal)
    heals = median * np.exp(LOG_SD * normal(rng, animal, setting.correlation))
    if slower is not None:
        heals = heals * slower[animal]
    leaves = np.ceil(rng.exponential(1 / exits, grafts)) if exits else np.full(grafts, np.inf)
    lost = rng.exponential(1 / LOST, grafts)
    if setting.schedule == EXACT:
        last = np.minimum(np.minimum(lost, leaves), LAST_DAY)
        cause = np.where(heals <= last, 1, np.where(leaves <= last, 2, 0))
        left = np.where(cause == 1, heals, last)
        return Healing(animal, left, np.where(cause == 0, np.inf, left), cause)
    days = visits(rng, setting.schedule, grafts)
    looked = days <= np.minimum(np.minimum(lost, leaves), LAST_DAY)[:, None]
    leaves = np.where(leaves < np.minimum(lost, LAST_DAY), leaves, np.inf)
    left = np.where(looked & (days < heals[:, None]), days, 0).max(axis=1).astype(float)
    right = np.where(looked & (days >= heals[:, None]), days, np.inf).min(axis=1)
    right = np.where(np.isinf(right) & (heals <= leaves) & np.isfinite(leaves), leaves, right)
    cause = np.where(np.isfinite(right), 1, np.where(np.isfinite(leaves), 2, 0))
    left = np.where(cause == 2, leaves, left)
    return Healing(animal, left, np.where(cause == 2, leaves, right), cause)


def share_healed(day: float, *, median: float = MEDIAN, exits: float = EXIT) -> float:
    """The true share healed by a day, whoever has left before never healing; exits come at the end of a day."""
    begins, below = _by_day(day, median)
    return float(np.diff(below) @ np.exp(-exits * begins))


def share_left(day: int, *, median: float, exits: float) -> float:
    """The true share that left unhealed by the end of a whole day."""
    begins, below = _by_day(day, median)
    return float((1 - below[1:]) @ (np.exp(-exits * begins) - np.exp(-exits * (begins + 1))))


def _by_day(day: float, median: float) -> tuple[Days, Days]:
    """Whole days up to a day, and the share whose wound needs no longer than each and than the day itself."""
    begins = np.arange(np.ceil(day))
    with np.errstate(divide="ignore"):
        return begins, ndtr((np.log(np.append(begins, day)) - log(median)) / LOG_SD)


def median_day(*, median: float = MEDIAN, exits: float = EXIT) -> float:
    """The true day by which half have healed."""
    low, high = 1.0, 400.0
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if share_healed(middle, median=median, exits=exits) < 0.5 else (low, middle)
    return low


def restricted_days(horizon: float) -> float:
    """The true mean of the days to healing or the horizon, whichever is first, without other exits."""
    z = (log(horizon) - log(MEDIAN)) / LOG_SD
    return MEDIAN * exp(LOG_SD**2 / 2) * float(ndtr(z - LOG_SD)) + horizon * float(ndtr(-z))
