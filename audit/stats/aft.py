"""Weibull accelerated failure time: how a factor stretches the days to healing, known only between two visits."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtrit

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Tidy, TidyRow, tidy
from audit.stats import checked, weibull_error
from audit.stats.aft_likelihood import FAR, Rows, maximise, sandwich, start
from audit.stats.covariates import FEWEST_EVENTS, design, enough_events, refuse_repeats
from audit.stats.npmle import npmle
from audit.stats.weibull_error import Array

if TYPE_CHECKING:
    import pandas as pd

SANDWICH = "sandwich by animal"
PENALISED = "penalised (the likelihood has no maximum: limits lean on normal priors), not clustered"
PRIOR_SPREAD = 1.0  # standard deviation of the normal priors that hold a separated fit


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AftFit(Tidy):
    """
    The fit of log days = coefficient @ (1, covariates) + exp(log_scale) * error.

    `naive` and `robust` are covariances of (coefficient, log_scale): from the curvature of the likelihood, and
    clustered by animal, which is behind every interval. `time_ratios` has one estimate a covariate: at 1.5, healing
    takes half as long again. `events` are the animals seen healed. `penalised`: normal priors hold a separated fit.
    """

    names: tuple[str, ...]
    coefficient: Array
    log_scale: float
    naive: Array
    robust: Array
    loglik: float
    n: int
    events: int
    animals: int
    level: float
    method: str
    penalised: bool
    iterations: int

    @property
    def time_ratios(self) -> tuple[Estimate, ...]:
        """One estimate a covariate, in the order of `names`."""
        freedom = self.animals - len(self.coefficient)
        reach = float(stdtrit(freedom, (1 + self.level) / 2)) * np.sqrt(self.robust.diagonal())
        return tuple(
            Estimate(
                quantity="time ratio",
                group=name,
                value=exp(middle),
                value_to=exp(middle),
                low=exp(middle - half),
                high=exp(min(middle + half, 700.0)),
                level=self.level,
                method=self.method,
                unit="animals",
                numerator=self.events,
                denominator=self.n,
                animals=self.animals,
            )
            for name, middle, half in zip(self.names, self.coefficient[1:], reach[1:-1], strict=True)
        )

    @property
    def frame(self) -> "pd.DataFrame":
        """One row a time ratio: term, estimate, low, high, level, method, n, animals."""
        return tidy(self.time_ratios)

    def share(self, day: ArrayLike, covariates: ArrayLike) -> Array:
        """Share healed by each day under the model, for one row of covariates or for a row a day."""
        eta = self.coefficient[0] + np.asarray(covariates, dtype=float) @ self.coefficient[1:]
        return weibull_error.share((_log(np.asarray(day, dtype=float)) - eta) / exp(self.log_scale))


@dataclass(frozen=True, slots=True)
class FitCheck(TidyRow):
    """Greatest vertical distance between the model's and the nonparametric curve of the residuals of a group."""

    group: str
    distance: float
    n: int


def aft(
    left: ArrayLike,
    right: ArrayLike,
    covariates: ArrayLike,
    names: Sequence[str],
    *,
    animal: ArrayLike | None = None,
    weight: ArrayLike | None = None,
    level: float = 0.95,
    fewest: int = FEWEST_EVENTS,
) -> AftFit:
    """
    Time ratios from days known to lie in (left, right]; right = inf: not seen healed; left = right: exact.

    `covariates` is (rows, names) without an intercept. `animal` names the animal of each row (without it
    each case is its own); rows may be tallied by `weight`. Newton's method on analytic derivatives. The covariance is
    the sandwich by animal in its leave-one-out form, with Student's t on as many degrees of freedom as animals beyond
    the coefficients: measured on 12 to 40 simulated animals with one to three grafts, limits cover in 0.95 to 0.98,
    where the plain sandwich with m / (m - 1) covered in 0.85 to 0.94.

    Where a factor alone settles who healed (separated data) the likelihood has no maximum. Normal priors, of standard
    deviation 1 for the log time ratio a standard deviation of the covariate and for the log scale, then hold the fit,
    its covariance is from the curvature, and every method name says so.

    Raises TooFewData under `fewest` animals seen healed a covariate (counting at least one) or where no animal is
    left beyond the coefficients, EmptyGroup without cases, AuditError for days out of order, healing on an exact
    day 0, or covariates that repeat one another.

    Kalbfleisch JD, Prentice RL. The Statistical Analysis of Failure Time Data, 2nd edition 2002, chapter 3 (model);
    Lin DY, Wei LJ. J Am Stat Assoc 1989;84:1074-1078 (sandwich); Lipsitz SR, Dear KBG, Zhao L. Biometrics
    1994;50:842-846 (leave-one-out form, from memory).

    >>> left, right = [7, 7, 10, 14, 14, 14, 14, 21, 28, 28], [14, 14, 17, 21, 21, 21, 28, 28, 35, 42]
    >>> fit = aft(left, right, [[0]] * 5 + [[1]] * 5, ["distal limb"])
    >>> round(fit.time_ratios[0].value, 2), fit.penalised
    (1.9, False)
    """
    checked.level(level)
    rows, kept = _rows(left, right, design(covariates, names, np.size(left)), weight)
    refuse_repeats(rows.x, names)
    n, coefficients, healed = round(float(rows.weight.sum())), rows.x.shape[1], rows.log_right < FAR
    owner = None if animal is None else np.unique(checked.animals(animal, len(kept))[kept], return_inverse=True)[1]
    animals = n if owner is None else int(owner.max()) + 1
    events = round(float(rows.weight[healed].sum())) if owner is None else len(np.unique(owner[healed]))
    enough_events(events, max(coefficients - 1, 1), fewest, "(animals seen healed)")
    if animals <= coefficients + 1:
        raise TooFewData(f"{animals} animals cannot bear {coefficients} coefficients and a scale", "show the cases")

    centre, spread = rows.x[:, 1:].mean(axis=0), rows.x[:, 1:].std(axis=0)
    rows.x[:, 1:] = (rows.x[:, 1:] - centre) / spread
    top = maximise(rows, start(rows), np.zeros(coefficients + 1))
    penalised = top is None
    if top is None:
        flat = np.zeros(coefficients + 1)
        flat[0] = start(rows)[0]
        top = maximise(rows, flat, np.append(0.0, np.full(coefficients, PRIOR_SPREAD**-2)))
    if top is None:
        raise TooFewData("the days do not vary enough for a model of them", "describe the cases without a model")
    naive = np.linalg.inv(top.curvature)
    # The scores of separated rows are near nil, so a sandwich would be far too sure of a penalised fit.
    robust = naive if penalised else sandwich(rows, top, owner, animals)
    back = np.diag(np.concatenate(([1.0], 1 / spread, [1.0])))
    back[0, 1:-1] = -centre / spread
    return AftFit(
        names=tuple(names),
        coefficient=(back @ top.theta)[:-1],
        log_scale=float(top.theta[-1]),
        naive=back @ naive @ back.T,
        robust=back @ robust @ back.T,
        loglik=top.loglik,
        n=n,
        events=events,
        animals=animals,
        level=level,
        method=f"Weibull accelerated failure time, {PENALISED if penalised else SANDWICH}, t quantile",
        penalised=penalised,
        iterations=top.iterations,
    )


def residual_check(
    fit: AftFit,
    left: ArrayLike,
    right: ArrayLike,
    covariates: ArrayLike,
    *,
    group: ArrayLike | None = None,
    weight: ArrayLike | None = None,
) -> tuple[FitCheck, ...]:
    """
    How far the model's curve is from the nonparametric curve of the same cases, overall or by group.

    Residuals are the model's shares healed at both ends of each case's interval: uniform, and as much censored as
    the days, where the model is right. Where the nonparametric curve is only bounded, the nearest bound counts; the
    curves are compared as far as any case is known to be unhealed.

    Cox DR, Snell EJ. J R Stat Soc B 1968;30:248-275 (residuals, there on the scale of the cumulative hazard).
    """
    first, last = checked.days(left, "left day"), checked.numbers(right, "right day", low=0.0)
    names = np.full(len(first), "all cases") if group is None else checked.names(group, "group").astype(str)
    checked.same_length(left=first, right=last, group=names)
    checked.not_empty(len(first))
    x, count = design(covariates, fit.names, len(first))[:, 1:], checked.weights(weight, len(first))
    low, high = fit.share(first, x), np.where(np.isinf(last), np.inf, fit.share(last, x))
    checks = []
    for name in np.unique(names):
        in_group = names == name
        curve = npmle(low[in_group], high[in_group], count[in_group])
        after = np.cumsum(curve.mass)
        seen = curve.right <= low[in_group].max()
        gaps = np.append(np.abs(curve.left - (after - curve.mass)), np.abs(curve.right - after)[seen])
        checks.append(FitCheck(str(name), float(gaps.max()), curve.n))
    return tuple(checks)


def _log(day: Array) -> Array:
    """Log day; day 0 and a day never reached are far, but finite."""
    with np.errstate(divide="ignore"):
        return np.clip(np.log(day), -FAR, FAR)


def _rows(left: ArrayLike, right: ArrayLike, x: Array, weight: ArrayLike | None) -> tuple[Rows, NDArray[np.bool_]]:
    low, high = checked.days(left, "left day"), checked.numbers(right, "right day", low=0.0)
    checked.same_length(left=low, right=high, covariates=x)
    count = checked.weights(weight, len(low))
    wrong = ~((low <= high) & (high > 0))
    if wrong.any():
        row = int(np.argmax(wrong))
        raise AuditError(f"row {row}: ({low[row]:g}, {high[row]:g}] is no span of days", "mend it")
    kept = count > 0
    checked.not_empty(kept.sum())
    # By columns, along which all sums run.
    return Rows(np.asfortranarray(x[kept]), _log(low[kept]), _log(high[kept]), count[kept]), kept
