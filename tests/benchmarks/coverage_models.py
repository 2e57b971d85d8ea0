"""Models of invented outcomes that truly follow them, and shares at one case mix."""

import numpy as np
from scipy.special import expit, logit, ndtr

from audit.stats.firth import firth_logistic
from audit.stats.proportional_odds import proportional_odds
from audit.stats.standardise import standardised_shares
from tests.benchmarks.coverage_measures import Hits, Measure, alike, holds
from tests.benchmarks.coverage_practice import Setting, normal, owners

ODDS = 2.0


def taken(rng: np.random.Generator, setting: Setting) -> Hits:
    """Take by a factor that half of the animals have, one graft an animal."""
    has = np.arange(setting.animals) % 2
    took = rng.random(setting.animals) < expit(0.3 + np.log(ODDS) * has)
    fit = firth_logistic(took, has[:, None], ["factor"])
    return {"odds ratio of take": holds(fit.odds_ratios[0], ODDS), "test: odds of take": _no_difference(rng, has)}


def _no_difference(rng: np.random.Generator, has: np.ndarray) -> bool:
    return firth_logistic(rng.random(len(has)) < expit(0.6), has[:, None], ["factor"]).p[0] <= 0.05


def higher(rng: np.random.Generator, setting: Setting) -> Hits:
    """Three grades, with proportional odds for each graft whatever the correlation between the grafts of an animal."""
    animal = owners(rng, setting)
    has = animal % 2
    liability = logit(ndtr(normal(rng, animal, setting.correlation))) + np.log(ODDS) * has
    grade = np.searchsorted([-0.3, 1.0], liability)
    fit = proportional_odds(grade, has[:, None], ["factor"], animal=animal)
    return {
        "odds ratio of a higher grade": holds(fit.odds_ratios[0], ODDS),
        "test: proportional odds": fit.proportionality.p <= 0.05,
    }


def at_one_mix(rng: np.random.Generator, setting: Setting) -> Hits:
    """Two groups, the one mostly on distal limbs and the other mostly not; the shares of each cell vary."""
    animal = owners(rng, setting)
    number = np.arange(setting.animals)
    group, few = number % 2, max(5, round(0.15 * setting.animals))
    distal = np.where(number // 2 < few, 1 - group, group)
    truth = rng.uniform(0.6, 0.95, (2, 2))
    chance = truth[group, distal]
    took = np.zeros(len(animal), dtype=int)
    for share in np.unique(chance):
        mine = chance[animal] == share
        took[mine] = alike(rng, animal[mine], setting.correlation, share)
    found = standardised_shares(took, group[animal], [distal[animal]], animal=animal)
    weight = np.zeros(2)
    for (cell,), part in found.mix:
        weight[int(cell)] = part
    shares = truth @ weight
    return {
        "standardised share, average": float(np.mean([holds(e, s) for e, s in zip(found.shares, shares, strict=True)])),
        "difference of standardised shares": holds(found.differences[0], shares[0] - shares[1]),
    }


MODELS = (
    Measure(taken, animals=(20, 40, 200), correlations=(0.0,)),
    Measure(higher, animals=(20, 40, 200)),
    Measure(at_one_mix, animals=(20, 40, 200)),
)
