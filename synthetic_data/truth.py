"""
What is planted in an invented practice: how takes, healing, loss and rating truly go, set by us and known exactly.

Nothing here is an estimate from real animals; the figures are chosen so that the rows look like a practice's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf, log, sqrt
from statistics import NormalDist
from types import MappingProxyType

import numpy as np

from audit import dictionary
from audit.codes import METHOD, REGION_GROUPS

GROUP = {code.name: code.group for code in METHOD}
PLACE = {code.name: code.group for code in dictionary.WOUNDS["region"].codes}
DISTAL = tuple(group.name for group in REGION_GROUPS if group.is_distal)


def is_distal(region: str) -> bool:
    """Whether the region is a distal limb or a foot pad."""
    return PLACE[region] in DISTAL


def _by_group(**values: float) -> Mapping[str, float]:
    return MappingProxyType(values)


@dataclass(frozen=True, slots=True)
class Rater:
    """Somebody who grades: `bias` and `noise` (standard deviation) are in grades."""

    code: str
    role: str
    bias: float
    noise: float
    blinded: bool


@dataclass(frozen=True, slots=True)
class Planted:
    """
    The truth of an invented practice.

    Healing is log-normal: `healing_days` is the median of a dog's wound off the distal limb, multiplied by `cat_time`,
    `distal_time` and, without take, `loss_time`. Take is a probability with odds multiplied likewise. `intra_animal` is
    the correlation, between two wounds of one animal, of the log healing times and of the liabilities to take.
    In `elsewhere` of the reconstructions the second week is seen by another practice, which only reports it.
    `exits` and `loss` are constant rates a day; loss is multiplied by `loss_without_take` after a failed take.
    """

    healing_days: Mapping[str, float] = field(
        default_factory=lambda: _by_group(
            mesh_graft=26, sheet_graft=24, piece_graft=29, flap=17, closure=14, no_graft=48, combined=28
        )
    )
    log_sd: float = 0.35
    cat_time: float = 0.88
    distal_time: float = 1.1
    loss_time: float = 1.0
    take: Mapping[str, float] = field(
        default_factory=lambda: _by_group(
            mesh_graft=0.86, sheet_graft=0.84, piece_graft=0.82, flap=0.9, closure=1, no_graft=1, combined=0.85
        )
    )
    cat_odds: float = 2.0
    distal_odds: float = 0.7
    fresh_odds: float = 1.3
    intra_animal: float = 0.3
    exits: Mapping[str, float] = field(
        default_factory=lambda: _by_group(
            died_unrelated=0.0004, euthanased_financial=0.0002, amputated_wound=0.0005, died_related=0.0002
        )
    )
    loss: float = 0.0035
    loss_without_take: float = 1.0
    schedule: str = "dense"
    prompted: float = 0.08
    elsewhere: float = 0.0
    percent_step: int = 5
    hair: Mapping[str, float] = field(
        default_factory=lambda: _by_group(
            mesh_graft=2.6, sheet_graft=3.2, piece_graft=1.5, flap=3.8, closure=3.9, no_graft=1.2, combined=2.4
        )
    )
    look: Mapping[str, float] = field(
        default_factory=lambda: _by_group(
            mesh_graft=1.3, sheet_graft=0.9, piece_graft=1.7, flap=0.7, closure=0.5, no_graft=1.6, combined=1.2
        )
    )
    raters: tuple[Rater, ...] = (
        Rater("R1", "surgeon", 0.3, 0.3, False),
        Rater("R2", "other_vet", 0.0, 0.35, True),
        Rater("R3", "nurse", -0.1, 0.45, True),
    )

    def median_days(self, method: str, species: str, region: str, *, took: bool) -> float:
        """The median of the true days to healing of such a wound."""
        cat = self.cat_time if species == "cat" else 1.0
        distal = self.distal_time if is_distal(region) else 1.0
        return self.healing_days[GROUP[method]] * cat * distal * (1.0 if took else self.loss_time)

    def take_chance(self, method: str, species: str, region: str, bed: str) -> float:
        """
        The probability that three quarters or more of such a graft live.

        >>> round(Planted().take_chance("mesh_full", "dog", "thorax", "granulating"), 2)
        0.86
        """
        chance = self.take[GROUP[method]]
        if chance >= 1:
            return 1.0
        odds = chance / (1 - chance)
        odds *= self.cat_odds if species == "cat" else 1.0
        odds *= self.distal_odds if is_distal(region) else 1.0
        odds *= self.fresh_odds if bed.startswith("fresh") else 1.0
        return odds / (1 + odds)


@dataclass(frozen=True, slots=True)
class Fate:
    """
    What truly became of one reconstruction: percent alive, day healed, and why and when watching would end.

    `heals_on` and `leaves_on` are exact days, `inf` for never; `leaves` is an exit reason, 'lost' or ''.
    """

    took: bool
    viable_pct: float
    heals_on: float
    leaves: str
    leaves_on: float


def draw_fate(
    rng: np.random.Generator,
    planted: Planted,
    animal_effect: tuple[float, float],
    method: str,
    species: str,
    region: str,
    bed: str,
) -> Fate:
    """The fate of one reconstruction; `animal_effect` is two standard normal values that its animal's wounds share."""
    shared, own = sqrt(planted.intra_animal), sqrt(1 - planted.intra_animal)
    slow, frail = (shared * effect + own * rng.standard_normal() for effect in animal_effect)
    took = bool(NormalDist().cdf(frail) < planted.take_chance(method, species, region, bed))
    viable = 75 + 25 * rng.beta(3, 1) if took else 74 * rng.beta(1.6, 1.4)
    heals_on = float(np.exp(log(planted.median_days(method, species, region, took=took)) + planted.log_sd * slow))
    leaves, leaves_on = _first_exit(rng, planted, took=took)
    return Fate(took, float(viable), heals_on, leaves, leaves_on)


def _first_exit(rng: np.random.Generator, planted: Planted, *, took: bool) -> tuple[str, float]:
    rates = {**planted.exits, "lost": planted.loss * (1.0 if took else planted.loss_without_take)}
    days = {reason: rng.exponential(1 / rate) if rate > 0 else inf for reason, rate in rates.items()}
    first = min(days, key=lambda reason: days[reason])
    return (first, float(days[first])) if days[first] < inf else ("", inf)
