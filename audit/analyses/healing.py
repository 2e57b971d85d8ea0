"""By when the wounds had healed, from what was seen at visits: never a single day where the records give two."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import GroupShare, by_group, by_species
from audit.analyses.tally import animals, individuals, members
from audit.cases import Cases
from audit.codes import EXIT_GROUPS, FREE_GRAFTS
from audit.protocol import Protocol
from audit.results import Estimate, Members
from audit.stats.competing import (
    CompetingNpmle,
    competing_band,
    competing_npmle,
    competing_quantile_interval,
    competing_share_interval,
)
from audit.stats.profile import Band, ByDay, design_effect_by_day
from audit.stats.restricted_mean import restricted_mean

HEALED, CENSORED = 1, 0
WHOLE = "free_graft"
EXITS = tuple(group.name for group in EXIT_GROUPS if group.ends_graft)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HealingCurve:
    """
    Healing of one group: what is known by each asked day, the curve with its band, the median and the other ends.

    `shares` pairs each asked day with its three-way answer and its estimate. `incidence` has a curve a cause, named in
    `causes`, healed first; animals that left by another cause never heal, as in life. `band` is of healing. `mean_days`
    counts a case not healed by the horizon, gone or not, at the horizon; None for fewer animals than a curve needs
    (the protocol's smallest_curve) and for a method group.
    """

    species: str
    group: str
    codes: Members
    animals: int
    shares: tuple[tuple[int, GroupShare, Estimate], ...]
    median: Estimate
    mean_days: Estimate | None
    incidence: CompetingNpmle
    causes: tuple[str, ...]
    band: Band


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HealingAnswer:
    """
    Time to healing of the free grafts by species, and of every method group within species.

    `lines` has a row a case (case_code, species, method_group, left_day, right_day, cause, exit_day, exit_group) and
    `seen` a row a case and contact day (what: open, healed, not_assessable, not_seen). `too_few` names the groups
    for which no curve is drawn, with their animals.
    """

    question: str
    overall: tuple[HealingCurve, ...]
    by_method: tuple[HealingCurve, ...]
    too_few: tuple[tuple[str, str, int], ...]
    unconfirmed: Members
    reopened: Members
    lines: pd.DataFrame
    seen: pd.DataFrame
    horizon: int

    def lines_of(self, curve: HealingCurve) -> pd.DataFrame:
        """The lines of the cases of a curve."""
        groups = FREE_GRAFTS if curve.group == WHOLE else (curve.group,)
        return self.lines[(self.lines["species"] == curve.species) & self.lines["method_group"].isin(groups)]


def healing(cases: Cases) -> HealingAnswer:
    """Answer the protocol's healing question for the cases of its unit."""
    protocol = cases.protocol
    rows, days = cases.rows("healing_tally"), cases.rows("healing_by_day_tally")
    eligible = rows[rows["status"] == "eligible"].reset_index(drop=True)
    overall, by_method, too_few = [], [], []
    for species, part in by_species(eligible):
        answered = days[days["species"] == species]
        is_graft, is_answer = (frame["method_group"].isin(FREE_GRAFTS) for frame in (part, answered))
        if is_graft.any():
            overall.append(_curve(part[is_graft], answered[is_answer], species, WHOLE, protocol))
        for group, alike in part.groupby("method_group"):
            number = animals(alike)
            if number >= protocol.analysis.smallest_curve:
                of_group = answered[answered["method_group"] == group]
                by_method.append(_curve(alike, of_group, species, str(group), protocol))
            else:
                too_few.append((species, str(group), number))
    healed = eligible[eligible["right_day"].notna()]
    return HealingAnswer(
        question=protocol.healing.question,
        overall=tuple(overall),
        by_method=tuple(by_method),
        too_few=tuple(too_few),
        unconfirmed=members(healed[~healed["is_confirmed"].astype(bool)]),
        reopened=members(healed[healed["reopened_day"].notna()]),
        lines=individuals(eligible),
        seen=_seen(cases),
        horizon=protocol.healing.horizon,
    )


def _seen(cases: Cases) -> pd.DataFrame:
    """What was seen of each eligible case on each day: a picture of single cases, empty for a pooled register."""
    seen, listed = cases.rows("seen_when"), cases.rows("healing")
    return seen[seen["case_code"].isin(listed.loc[listed["status"] == "eligible", "case_code"])].reset_index(drop=True)


def _curve(rows: pd.DataFrame, days: pd.DataFrame, species: str, group: str, protocol: Protocol) -> HealingCurve:
    level = protocol.analysis.level
    causes = ("healed", *(cause for cause in EXITS if (rows["cause"] == cause).any()))
    left, right, cause = intervals(rows, causes)
    seen = {"weight": rows["weight"].to_numpy(float), "level": level, "design_effect": design_effect(rows, causes)}
    known = {
        day: by_group(days[days["day"] == day], f"healed by day {day}", None, level=level)[0]
        for day in protocol.healing.days
    }
    return HealingCurve(
        species=species,
        group=group,
        codes=members(rows),
        animals=animals(rows),
        shares=tuple(
            (day, share, competing_share_interval(left, right, cause, day, **seen)) for day, share in known.items()
        ),
        median=competing_quantile_interval(left, right, cause, 0.5, **seen),
        mean_days=_mean_days(rows, group, causes, protocol),
        incidence=competing_npmle(left, right, cause, seen["weight"]),
        causes=causes,
        band=competing_band(left, right, cause, np.arange(1, protocol.healing.horizon + 1), **seen),
    )


def design_effect(rows: pd.DataFrame, causes: tuple[str, ...]) -> ByDay:
    """
    Several grafts of an animal tell less than as many animals: the likelihood is read at each day's design effect.

    `rows` are tallied rows of healing, `causes` those of `intervals`.
    """
    if rows["animal"].isna().all():
        return lambda day: 1.0
    each = individuals(rows)
    left, right, cause = intervals(each, causes)
    return design_effect_by_day(left, right, each["animal"], never=cause > HEALED)


def _mean_days(rows: pd.DataFrame, group: str, causes: tuple[str, ...], protocol: Protocol) -> Estimate | None:
    # Its interval held the truth in only 0.91 of practices of eight animals, several grafts each, days known exactly.
    if group != WHOLE or animals(rows) < protocol.analysis.smallest_curve:
        return None
    each = individuals(rows)
    left, right, cause = intervals(each, causes)
    horizon, gone = float(protocol.healing.horizon), cause > HEALED
    return restricted_mean(
        np.where(gone, horizon, left),
        np.where(gone, np.inf, right),
        horizon,
        np.random.default_rng(protocol.analysis.seed),
        animal=each["animal"].to_numpy(),
        level=protocol.analysis.level,
    )


def intervals(cases: pd.DataFrame, causes: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """
    The statistic's view of the healing mart: (left, right], exits exact at their day, the rest right-censored.

    The cause is the place in `causes` counted from 1, and 0 for a case only known to be open when last seen.
    """
    cause = cases["cause"].map({name: i for i, name in enumerate(causes, start=1)}).fillna(CENSORED).to_numpy(int)
    left = cases["left_day"].to_numpy(float)
    right = cases["right_day"].astype(float).fillna(np.inf).to_numpy(float)
    left_as = cause > HEALED
    left[left_as] = right[left_as] = cases["exit_day"].to_numpy(float)[left_as]
    return left, right, cause
