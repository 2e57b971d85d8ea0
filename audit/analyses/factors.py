"""What goes with earlier healing and with take, within a species, where there are cases enough to ask at all."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import by_species
from audit.analyses.tally import individuals, of_individuals
from audit.cases import Cases
from audit.codes import FREE_GRAFTS
from audit.errors import AuditError, EmptyGroup
from audit.protocol import Protocol
from audit.results import Estimate, Members
from audit.stats.aft import aft, residual_check
from audit.stats.firth import firth_logistic
from audit.stats.interval_log_rank import IntervalLogRank, interval_log_rank
from audit.stats.proportional_odds import proportional_odds
from audit.stats.standardise import Standardised, standardised_shares

FACTORS = ("wound area doubled", "distal limb or pad", "granulating bed")
NOT_HEALED = 10_000.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Model:
    """
    One model of one outcome in one species: its ratios, or why it was refused.

    `ratios` are time ratios (above 1: later healing) or odds ratios (above 1: more take, higher grade). `check` says
    how well the model fits in words of numbers; `left_out` names factors without spread, `cases` those used.
    """

    outcome: str
    species: str
    ratios: tuple[Estimate, ...]
    cases: Members
    left_out: tuple[str, ...]
    check: tuple[tuple[str, float], ...]
    refused: str


@dataclass(frozen=True, slots=True, eq=False)
class FactorAnswer:
    """Models by outcome and species; kinds of graft by healing curve and by standardised take; or why not."""

    models: tuple[Model, ...]
    curves: tuple[tuple[str, IntervalLogRank | None, str], ...]
    standardised: tuple[tuple[str, Standardised | None, str], ...]


def factors(cases: Cases) -> FactorAnswer:
    """Free grafts of the protocol's unit, dogs and cats apart; every refusal carries its reason."""
    each = individuals(cases.rows("covariate_tally"))
    is_graft = (each["healing_status"] == "eligible") & each["method_group"].isin(FREE_GRAFTS)
    grafts, take, hair = each[is_graft], each[each["take_status"].notna()], each[each["hair_grade"].notna()]
    protocol, level = cases.protocol, cases.protocol.analysis.level
    models: list[Model] = []
    for outcome, rows, fit in (
        ("days to healing", grafts, _healing_fit),
        ("take", take, _take_fit),
        ("hair grade", hair, _hair_fit),
    ):
        models += [_model(outcome, species, part, fit, level) for species, part in by_species(rows)]
    return FactorAnswer(
        tuple(models),
        tuple((species, *_curves(part, protocol)) for species, part in by_species(grafts)),
        tuple((species, *_standardised(part, level)) for species, part in by_species(take)),
    )


Fit = Callable[[pd.DataFrame, np.ndarray, tuple[str, ...], float], tuple[tuple[Estimate, ...], dict[str, float]]]


def _model(outcome: str, species: str, rows: pd.DataFrame, fit: Fit, level: float) -> Model:
    used = rows.dropna(subset=["area_cm2", "is_distal", "recipient_bed"])
    table = _factors(used)
    spread = [name for name in FACTORS if table[name].min() < table[name].max()]
    left_out = tuple(name for name in FACTORS if name not in spread)
    try:
        if not len(table):
            raise EmptyGroup("no case has size, site and bed on record")
        if not spread:
            raise EmptyGroup("no factor differs between the cases")
        ratios, check = fit(used, table[spread].to_numpy(float), tuple(spread), level)
    except AuditError as refused:
        return Model(
            outcome=outcome,
            species=species,
            ratios=(),
            cases=of_individuals(used),
            left_out=left_out,
            check=(),
            refused=refused.reason,
        )
    return Model(
        outcome=outcome,
        species=species,
        ratios=ratios,
        cases=of_individuals(used),
        left_out=left_out,
        check=tuple(check.items()),
        refused="",
    )


def _factors(rows: pd.DataFrame) -> pd.DataFrame:
    values = (
        np.log2(rows["area_cm2"].to_numpy(float)),
        rows["is_distal"].to_numpy(float),
        (rows["recipient_bed"] == "granulating").to_numpy(float),
    )
    return pd.DataFrame(dict(zip(FACTORS, values, strict=True)), index=rows.index)


def _healing_fit(
    rows: pd.DataFrame, x: np.ndarray, names: tuple[str, ...], level: float
) -> tuple[tuple[Estimate, ...], dict[str, float]]:
    left, right = rows["left_day"].to_numpy(float), rows["right_day"].astype(float).fillna(np.inf).to_numpy(float)
    model = aft(left, right, x, names, animal=rows["animal"].to_numpy(), level=level)
    return model.time_ratios, {check.group: check.distance for check in residual_check(model, left, right, x)}


def _take_fit(
    rows: pd.DataFrame, x: np.ndarray, names: tuple[str, ...], level: float
) -> tuple[tuple[Estimate, ...], dict[str, float]]:
    model = firth_logistic((rows["take_status"] == "sure_yes").to_numpy(float), x, names, level=level)
    return model.odds_ratios, {}


def _hair_fit(
    rows: pd.DataFrame, x: np.ndarray, names: tuple[str, ...], level: float
) -> tuple[tuple[Estimate, ...], dict[str, float]]:
    x = np.column_stack([x, rows["hair_day"].to_numpy(float) / 30])
    model = proportional_odds(
        rows["hair_grade"].to_numpy(int), x, (*names, "30 days later"), animal=rows["animal"].to_numpy(), level=level
    )
    check = {} if model.proportionality is None else {"p of proportional odds": model.proportionality.p}
    return model.odds_ratios, check


def _curves(rows: pd.DataFrame, protocol: Protocol) -> tuple[IntervalLogRank | None, str]:
    fewest = protocol.analysis.smallest_curve
    sizes = rows.groupby("method_group")["animal"].nunique()
    large = rows[rows["method_group"].isin(sizes[sizes >= fewest].index)]
    if large["method_group"].nunique() < 2:
        return None, f"fewer than two kinds of graft have {fewest} animals"
    if not (large["cause"] == "healed").any():
        return None, "none of their cases was seen healed"
    # An exit ends healing for good: such a case counts as never healed, not as unknown.
    left = np.where(large["cause"].isin(["healed", "censored"]), large["left_day"].astype(float), NOT_HEALED)
    right = large["right_day"].astype(float).fillna(np.inf).to_numpy(float)
    rng = np.random.default_rng(protocol.analysis.seed)
    group, animal = large["method_group"].to_numpy(), large["animal"].to_numpy()
    return interval_log_rank(left, right, group, rng, animal=animal, fewest_animals=fewest), ""


def _standardised(rows: pd.DataFrame, level: float) -> tuple[Standardised | None, str]:
    site = np.where(rows["is_distal"].fillna(False).astype(bool), "distal limb or pad", "other sites")
    try:
        found = standardised_shares(
            (rows["take_status"] == "sure_yes").to_numpy(float),
            rows["method_group"].str.replace("_", " ").to_numpy(),
            [site],
            animal=rows["animal"].to_numpy(),
            level=level,
        )
    except AuditError as error:
        return None, error.reason
    if len(found.groups) < 2:
        return None, "there is one kind of graft only"
    return found, ""
