"""Which cases there are, which are asked about and why not the others, and how complete their records are."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses import tally
from audit.analyses.groups import by_species
from audit.analyses.tally import animals, individuals, members
from audit.cases import Cases
from audit.codes import EXIT_GROUPS
from audit.results import Estimate, Members
from audit.stats.kaplan_meier import follow_up


@dataclass(frozen=True, slots=True)
class Stage:
    """One step of the flow: the cases that stay, and those left out here with the reason."""

    name: str
    cases: Members
    left_out: tuple[tuple[str, Members], ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlowAnswer:
    """
    From all operations loaded to the cases asked about; and how far they were followed.

    `completeness` has a row a field: table_name, field, is_core, due, present, not_recorded, not_assessable, refused,
    not_applicable, blank. `exits` pairs a reason with the eligible cases that ended so. `follow_up` is in days.
    `never_seen` has the cases without an examination, a last one reported at their exit, or a complication, after
    surgery.
    """

    stages: tuple[Stage, ...]
    animals: int
    species: tuple[tuple[str, int, int], ...]
    first_month: str
    last_month: str
    core_complete: tuple[int, int]
    all_complete: tuple[int, int]
    completeness: pd.DataFrame
    exits: tuple[tuple[str, Members], ...]
    follow_up: Estimate | None
    never_seen: Members


REASONS = ("planned, then not done", "outside the period", "consent withdrawn", "not the first operation of its animal")


def flow(cases: Cases) -> FlowAnswer:
    """Count every operation of the store once: left out with one reason, or eligible."""
    rows = cases.rows("flow_tally")
    eligible = rows[rows["status"] == "eligible"]
    complete = cases.rows("completeness_tally").groupby(["table_name", "field", "is_core"], as_index=False).sum()
    core = complete[complete["is_core"].astype(bool)]
    return FlowAnswer(
        stages=_stages(rows),
        animals=animals(eligible),
        species=tuple((species, tally.cases(part), animals(part)) for species, part in by_species(eligible)),
        first_month=str(eligible["first_month"].min()) if len(eligible) else "",
        last_month=str(eligible["last_month"].max()) if len(eligible) else "",
        core_complete=(int(core["present"].sum()), int(core["due"].sum())),
        all_complete=(int(complete["present"].sum()), int(complete["due"].sum())),
        completeness=complete,
        exits=tuple(
            (str(reason), members(part))
            for reason, part in sorted(eligible.fillna({"exit_reason": "no exit recorded"}).groupby("exit_reason"))
        ),
        follow_up=_follow_up(eligible, cases.protocol.analysis.level),
        never_seen=members(eligible[~eligible["was_seen"].astype(bool)]),
    )


def _stages(rows: pd.DataFrame) -> tuple[Stage, ...]:
    left = rows
    stages = [Stage("operations in the store", members(rows), ())]
    reasons = [*REASONS, *sorted(set(rows["reason"].dropna()) - set(REASONS))]
    for reason in reasons:
        gone = left[left["reason"] == reason]
        if len(gone):
            left = left.drop(gone.index)
            stages.append(Stage(reason, members(left), ((reason, members(gone)),)))
    return tuple(stages)


def _follow_up(eligible: pd.DataFrame, level: float) -> Estimate | None:
    known = individuals(eligible[eligible["last_seen_day"].notna()])
    if known.empty:
        return None
    dead = known["exit_group"].isin([group.name for group in EXIT_GROUPS if group.is_death])
    days, animal = known["last_seen_day"].to_numpy(float), known["animal"].to_numpy()
    return follow_up(days, dead.to_numpy(bool), animal=animal, level=level)
