"""Time to healing once more, from planned examinations only: does it hang on the examinations that trouble prompted?"""

from dataclasses import dataclass, replace

import pandas as pd

from audit.analyses import tally
from audit.analyses.healing import HealingAnswer, HealingCurve, design_effect, intervals
from audit.cases import Cases
from audit.codes import FREE_GRAFTS
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.competing import competing_quantile_interval, competing_share_interval

REASONS = ("scheduled", "prompted", "opportunistic")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedExaminations:
    """
    Free grafts of one species: why they were examined, and their healing from all and from planned examinations.

    `examinations` counts examinations by reason: scheduled, prompted, opportunistic, not on record. `by_all` and
    `by_planned` have an estimate for each of `days`, estimated alike; None where no examination is known as planned.
    """

    species: str
    cases: int
    examinations: tuple[int, ...]
    days: tuple[int, ...]
    by_all: tuple[Estimate, ...]
    by_planned: tuple[Estimate, ...] | None
    median_all: Estimate
    median_planned: Estimate | None


def planned_examinations(cases: Cases, healing: HealingAnswer) -> tuple[PlannedExaminations, ...]:
    """One answer a species with a healing curve; cases and causes are those of that curve."""
    rows, reasons = cases.rows("healing_planned_tally"), cases.rows("examination_reason_tally")
    rows = rows[(rows["status"] == "eligible") & rows["method_group"].isin(FREE_GRAFTS)]
    reasons = reasons[reasons["method_group"].isin(FREE_GRAFTS)]
    return tuple(
        _species(
            curve, rows[rows["species"] == curve.species], reasons[reasons["species"] == curve.species], cases.protocol
        )
        for curve in healing.overall
    )


def _species(curve: HealingCurve, rows: pd.DataFrame, reasons: pd.DataFrame, protocol: Protocol) -> PlannedExaminations:
    level, days = protocol.analysis.level, tuple(day for day, _, _ in curve.shares)
    by_reason = reasons.groupby("why")["examinations"].sum()
    counts = [int(by_reason.get(reason, 0)) for reason in REASONS]
    examinations = (*counts, int(reasons["examinations"].sum()) - sum(counts))
    by_all = tuple(estimate for _, _, estimate in curve.shares)
    from_all = PlannedExaminations(
        species=curve.species,
        cases=tally.cases(rows),
        examinations=examinations,
        days=days,
        by_all=by_all,
        by_planned=None,
        median_all=curve.median,
        median_planned=None,
    )
    if not examinations[0]:
        return from_all
    left, right, cause = intervals(rows, curve.causes)
    seen = {
        "weight": rows["weight"].to_numpy(float),
        "level": level,
        "design_effect": design_effect(rows, curve.causes),
    }
    return replace(
        from_all,
        by_planned=tuple(competing_share_interval(left, right, cause, day, **seen) for day in days),
        median_planned=competing_quantile_interval(left, right, cause, 0.5, **seen),
    )
