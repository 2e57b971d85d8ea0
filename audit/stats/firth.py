"""Logistic regression of a yes/no outcome with Firth's penalty, which stays finite where a factor settles it all."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import chdtrc, chdtri, expit, log_expit

from audit.errors import AuditError
from audit.results import Estimate, Tidy, tidy
from audit.stats import checked
from audit.stats.covariates import FEWEST_EVENTS, design, enough_events, refuse_repeats

if TYPE_CHECKING:
    import pandas as pd

METHOD = "Firth's penalised logistic regression, profile penalised likelihood"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FirthFit(Tidy):
    """
    The fit: `coefficient` (log odds, intercept first), `covariance` from the Fisher information, odds ratios.

    `odds_ratios` has one estimate a covariate; `chi_square` and `p` test each against an odds ratio of 1 by the
    penalised likelihood ratio, 1 df. `events` is the rarer of yes and no, which is what the rule of events counts.
    """

    names: tuple[str, ...]
    coefficient: NDArray[np.float64]
    covariance: NDArray[np.float64]
    odds_ratios: tuple[Estimate, ...]
    chi_square: tuple[float, ...]
    p: tuple[float, ...]
    penalised_loglik: float
    n: int
    events: int

    @property
    def frame(self) -> "pd.DataFrame":
        """One row an odds ratio: term, estimate, low, high, level, method, n, animals."""
        return tidy(self.odds_ratios)

    def share(self, covariates: ArrayLike) -> float:
        """Chance of the outcome for a case with these covariates."""
        return float(expit(self.coefficient @ np.append(1.0, np.asarray(covariates, dtype=float))))


def firth_logistic(
    outcome: ArrayLike,
    covariates: ArrayLike,
    names: Sequence[str],
    *,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    fewest: int = FEWEST_EVENTS,
) -> FirthFit:
    """
    Odds ratios for a yes/no outcome, one row a case and one case an animal, by Firth's penalised likelihood.

    `covariates` is (rows, names) without an intercept; `weight` tallies equal rows. The penalty, half the log
    determinant of the information, keeps every estimate finite in separated data, where plain logistic regression
    has none. Limits hold every value whose profile penalised likelihood falls short by no more than chance allows;
    they take animals to be independent, so ask for the first graft of each.
    Raises TooFewData under `fewest` events (the rarer of yes and no) a covariate, EmptyGroup without cases, and
    AuditError for an outcome that is not 0 or 1 or for covariates that repeat one another.

    Firth D. Biometrika 1993;80:27-38; Heinze G, Schemper M. Stat Med 2002;21:2409-2419 (intervals).

    >>> fit = firth_logistic([0] * 10 + [1] * 5 + [0] * 5, [[0]] * 10 + [[1]] * 10, ["distal limb"])
    >>> round(fit.odds_ratios[0].value, 6)
    21.0
    """
    checked.level(level)
    y, x, count = _checked(outcome, covariates, names, weight)
    events, n = round(min(float(count @ y), float(count @ (1 - y)))), round(float(count.sum()))
    enough_events(events, x.shape[1] - 1, fewest, "of the rarer outcome")

    def penalised(b: NDArray) -> float:
        eta = x @ b
        return float(count @ (y * log_expit(eta) + (1 - y) * log_expit(-eta))) + _log_det(x, b, count) / 2

    def maximise(b: NDArray, free: NDArray) -> tuple[NDArray, float]:
        """The maximum over the free coefficients, the others held where they are."""
        reached = penalised(b)
        for _ in range(200):
            p = expit(x @ b)
            information = (x.T * (count * p * (1 - p))) @ x
            hat = count * p * (1 - p) * np.einsum("ij,ij->i", x, np.linalg.solve(information, x.T).T)
            score = ((count * (y - p) + hat * (0.5 - p)) @ x)[free]
            step = np.zeros(len(b))
            step[free] = np.linalg.solve(information[np.ix_(free, free)], score)
            step /= max(1.0, float(np.abs(step).max(initial=0.0)) / 5)
            if float(score @ step[free]) < 1e-20 * n:
                return b, reached
            tried = penalised(b + step)
            while tried < reached - 1e-12 * n:
                step = step / 2
                tried = penalised(b + step)
            b, reached = b + step, tried
        raise AuditError("Firth's fit was not settled in 200 steps", "please report this data")

    centre, spread = x[:, 1:].mean(axis=0), x[:, 1:].std(axis=0)
    x[:, 1:] = (x[:, 1:] - centre) / spread
    scaled, best = maximise(np.zeros(x.shape[1]), np.arange(x.shape[1]))
    p = expit(x @ scaled)
    covariance = np.linalg.inv((x.T * (count * p * (1 - p))) @ x)
    back = np.diag(np.append(1.0, 1 / spread))
    back[0, 1:] = -centre / spread

    drop, ratios, chi_square = float(chdtri(1, 1 - level)), [], []
    for j, name in enumerate(names, start=1):
        others = np.delete(np.arange(len(scaled)), j)

        def shortfall(value: float, j: int = j, others: NDArray = others) -> float:
            held = scaled.copy()
            held[j] = value
            return 2 * (best - maximise(held, others)[1])

        reach = sqrt(covariance[j, j])
        low, high = (_crossing(shortfall, float(scaled[j]), side * reach, drop) for side in (-1, 1))
        value, low, high = (exp(limit / spread[j - 1]) for limit in (float(scaled[j]), low, high))
        ratios.append(
            Estimate(
                quantity="odds ratio",
                group=name,
                value=value,
                value_to=value,
                low=low,
                high=high,
                level=level,
                method=METHOD,
                unit="animals",
                numerator=events,
                denominator=n,
                animals=n,
            )
        )
        chi_square.append(max(shortfall(0.0), 0.0))
    return FirthFit(
        names=tuple(names),
        coefficient=back @ scaled,
        covariance=back @ covariance @ back.T,
        odds_ratios=tuple(ratios),
        chi_square=tuple(chi_square),
        p=tuple(float(chdtrc(1, value)) for value in chi_square),
        penalised_loglik=best + float(np.log(spread).sum()),
        n=n,
        events=events,
    )


def _checked(
    outcome: ArrayLike, covariates: ArrayLike, names: Sequence[str], weight: ArrayLike | None
) -> tuple[NDArray, NDArray, NDArray]:
    y = checked.truths(outcome, "outcome")
    count = checked.weights(weight, len(y))
    x = design(covariates, names, len(y))
    y, x, count = y[count > 0], x[count > 0], count[count > 0]
    checked.not_empty(len(y))
    refuse_repeats(x, names)
    return y, x, count


def _log_det(x: NDArray, b: NDArray, count: NDArray) -> float:
    p = expit(x @ b)
    return float(np.linalg.slogdet((x.T * (count * p * (1 - p))) @ x)[1])


def _crossing(shortfall: Callable[[float], float], centre: float, reach: float, drop: float) -> float:
    """Where the shortfall first equals `drop`, going out from the centre in steps that double."""
    for _ in range(60):
        if shortfall(centre + reach) > drop:
            return float(brentq(lambda value: shortfall(value) - drop, centre, centre + reach, xtol=1e-9))
        reach *= 2
    raise AuditError("a profile limit was not found", "please report this data")
