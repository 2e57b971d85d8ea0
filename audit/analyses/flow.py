"""Which cases there are, which are asked about and why not the others, and how complete their records are."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses.groups import by_species
from audit.cases import Cases
from audit.codes import EXIT_GROUPS
from audit.results import Estimate
from audit.stats.kaplan_meier import follow_up


@dataclass(frozen=True, slots=True)
class Stage:
    """One step of the flow: the cases that stay, and those left out here with the reason."""

    name: str
    cases: tuple[str, ...]
    left_out: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True, eq=False)
class FlowAnswer:
    """
    From all operations loaded to the cases asked about; and how far they were followed.

    `completeness` has a row a field: table_name, field, is_core, due, present, not_recorded, not_assessable, refused,
    not_applicable, blank. `exits` pairs a reason with the eligible cases that ended so. `follow_up` is in days.
    `never_seen` has the cases without a look, a last look told at their exit, or a complication seen, after surgery.
    """

    stages: tuple[Stage, ...]
    animals: int
    species: tuple[tuple[str, int, int], ...]
    first_month: str
    last_month: str
    core_complete: tuple[int, int]
    all_complete: tuple[int, int]
    completeness: pd.DataFrame
    exits: tuple[tuple[str, tuple[str, ...]], ...]
    follow_up: Estimate | None
    never_seen: tuple[str, ...]


REASONS = ("planned, then not done", "outside the period", "consent withdrawn", "not the first operation of its animal")


def flow(cases: Cases) -> FlowAnswer:
    """Count every operation of the store once: left out with one reason, or eligible."""
    listed = cases.rows("case_list").sort_values("case_code")
    eligible = listed[listed["status"] == "eligible"]
    complete = cases.rows("completeness")
    core = complete[complete["is_core"]]
    return FlowAnswer(
        _stages(listed),
        int(eligible["animal"].nunique()),
        tuple((species, len(part), int(part["animal"].nunique())) for species, part in by_species(eligible)),
        str(eligible["surgery_month"].min()) if len(eligible) else "",
        str(eligible["surgery_month"].max()) if len(eligible) else "",
        (int(core["present"].sum()), int(core["due"].sum())),
        (int(complete["present"].sum()), int(complete["due"].sum())),
        complete,
        tuple(
            (str(reason), tuple(part["case_code"]))
            for reason, part in sorted(eligible.fillna({"exit_reason": "no exit recorded"}).groupby("exit_reason"))
        ),
        _follow_up(eligible, cases.protocol.analysis.level),
        tuple(eligible.loc[~eligible["was_seen"].astype(bool), "case_code"]),
    )


def _stages(cases: pd.DataFrame) -> tuple[Stage, ...]:
    left = cases
    stages = [Stage("operations in the store", tuple(cases["case_code"]), ())]
    reasons = [*REASONS, *sorted(set(cases["reason"].dropna()) - set(REASONS))]
    for reason in reasons:
        gone = left[left["reason"] == reason]
        if len(gone):
            left = left.drop(gone.index)
            stages.append(Stage(reason, tuple(left["case_code"]), ((reason, tuple(gone["case_code"])),)))
    return tuple(stages)


def _follow_up(eligible: pd.DataFrame, level: float) -> Estimate | None:
    known = eligible[eligible["last_seen_day"].notna()]
    if known.empty:
        return None
    dead = known["exit_group"].isin([group.name for group in EXIT_GROUPS if group.is_death])
    days, animal = known["last_seen_day"].to_numpy(float), known["animal"].to_numpy()
    return follow_up(days, dead.to_numpy(bool), animal=animal, level=level)
