"""Agreement between raters of invented photographs, whose large-sample values are known by integration."""

from math import comb, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from audit.stats.agreement import gwet_ac2, krippendorff_alpha, weighted_kappa
from audit.stats.measurement import intraclass_correlation, limits_of_agreement
from tests.benchmarks.coverage_measures import Hits, Measure, holds
from tests.benchmarks.coverage_practice import PLANTED, Setting, normal, owners

CUTS = np.array([-1.5, -0.5, 0.5, 1.5])  # between the grades of a photograph whose look is standard normal
GRADES = len(CUTS) + 1
BIAS, NOISE = (np.array([getattr(rater, name) for rater in PLANTED.raters]) for name in ("bias", "noise"))
LOOKS, RATERS_SD, ERROR_SD = 12.0, 3.0, 5.0  # standard deviations of a percent: photographs, raters, single readings
APART = 3.0  # mean difference of two raters who are no others


def graded(rng: np.random.Generator, setting: Setting) -> Hits:
    """Three raters, each lenient or strict to his own degree, grade one to three photographs of each animal."""
    animal = owners(rng, setting)
    look = normal(rng, animal, setting.correlation)[:, None]
    ratings = np.searchsorted(CUTS, look + BIAS + NOISE * rng.standard_normal((len(animal), len(BIAS))))
    with_animals = {"categories": GRADES, "animal": animal, "rng": rng, "draws": 1000}
    return {
        "Krippendorff's alpha": holds(krippendorff_alpha(ratings, **with_animals), ALPHA),
        "Gwet's AC2": holds(gwet_ac2(ratings, **with_animals), AC2),
    }


def measured(rng: np.random.Generator, setting: Setting) -> Hits:
    """Percents by two raters who differ, or by two drawn from many."""
    animal = owners(rng, setting)
    percent = 70 + LOOKS * normal(rng, animal, setting.correlation)[:, None]
    readings = percent + ERROR_SD * rng.standard_normal((len(animal), 2))
    drawn = readings + RATERS_SD * rng.standard_normal(2)
    readings[:, 0] += APART
    limits = limits_of_agreement(*readings.T)
    reach = 1.959964 * ERROR_SD * sqrt(2)
    ends = ((limits.lower, APART - reach), (limits.upper, APART + reach))
    return {
        "intraclass correlation": holds(intraclass_correlation(readings, animal=animal), _correlation(APART**2 / 2)),
        "the same, F limits of raters drawn from many": holds(
            intraclass_correlation(drawn), _correlation(RATERS_SD**2)
        ),
        "mean difference of two raters": holds(limits.bias, APART),
        "limits of agreement, average": float(np.mean([holds(end, truth) for end, truth in ends])),
    }


def two_raters(rng: np.random.Generator, setting: Setting) -> Hits:
    """Two of the raters grade one photograph of each animal."""
    look = rng.standard_normal((setting.animals, 1))
    ratings = np.searchsorted(CUTS, look + BIAS[:2] + NOISE[:2] * rng.standard_normal((setting.animals, 2)))
    table = np.histogram2d(*ratings.T, bins=GRADES, range=[(-0.5, GRADES - 0.5)] * 2)[0].astype(int)
    return {"weighted kappa of two raters": holds(weighted_kappa(table, weights="quadratic"), KAPPA)}


def _correlation(raters: float) -> float:
    return LOOKS**2 / (LOOKS**2 + raters + ERROR_SD**2)


def pairs_of_grades() -> NDArray:
    """Chance of each pair of grades of one photograph, for each pair of raters (rater, rater, grade, grade)."""
    look = np.linspace(-8, 8, 4001)
    density = np.exp(-(look**2) / 2)
    below = ndtr((CUTS - look[:, None, None] - BIAS[:, None]) / NOISE[:, None])
    edges = np.zeros((*below.shape[:2], 1)), np.ones((*below.shape[:2], 1))
    chance = np.diff(np.concatenate((edges[0], below, edges[1]), axis=2), axis=2)
    return np.einsum("z,zag,zbh->abgh", density / density.sum(), chance, chance)


def _coefficients() -> tuple[float, float]:
    """Alpha and AC2 of endlessly many photographs, from their definitions."""
    joint = pairs_of_grades()[~np.eye(len(BIAS), dtype=bool)].mean(axis=0)
    use = joint.sum(axis=1)
    distance = np.subtract.outer(np.cumsum(use) - use / 2, np.cumsum(use) - use / 2) ** 2
    weight = np.array([[1 - comb(abs(a - b) + 1, 2) / comb(GRADES, 2) for a in range(GRADES)] for b in range(GRADES)])
    chance = weight.sum() / (GRADES * (GRADES - 1)) * float((use * (1 - use)).sum())
    alpha = 1 - float((joint * distance).sum()) / float(use @ distance @ use)
    return alpha, (float((joint * weight).sum()) - chance) / (1 - chance)


def _kappa() -> float:
    """Cohen's kappa, quadratic weights, of the first two raters over endlessly many photographs."""
    joint = pairs_of_grades()[0, 1]
    apart = np.subtract.outer(np.arange(GRADES), np.arange(GRADES)) ** 2
    return 1 - float((joint * apart).sum()) / float(joint.sum(axis=1) @ apart @ joint.sum(axis=0))


ALPHA, AC2 = _coefficients()
KAPPA = _kappa()
RATERS = (
    *(Measure(run, animals=(20, 40, 200)) for run in (graded, measured)),
    Measure(two_raters, animals=(20, 40, 200), correlations=(0.0,)),
)
