"""How often bandages were changed, set beside the practice's own schedule, and what that adds up to."""

from dataclasses import dataclass

import pandas as pd

from audit.protocol import Protocol
from audit.stats.recurrent import MeanCumulative, PhaseRate, mean_cumulative, phase_rates
from audit.store import Store


@dataclass(frozen=True, slots=True, eq=False)
class BandageAnswer:
    """
    Bandage changes of the eligible cases with any visit.

    `mean` is the mean number of changes an operation by day; `rates` the changes a watched day in each phase of the
    protocol; `planned` the protocol's longest planned gap for the same phases. `cases` has a row a case: case_code, species,
    changes, first_change_day, longest_gap, followed_to.
    """

    mean: tuple[tuple[str, MeanCumulative], ...]
    rates: tuple[tuple[str, tuple[PhaseRate, ...]], ...]
    planned: tuple[tuple[int, int, int], ...]
    cases: pd.DataFrame
    never_seen: tuple[str, ...]


def bandages(store: Store, protocol: Protocol) -> BandageAnswer:
    """Count changes while the case was watched, to the last professional look or the healing horizon."""
    rows, changes = store.rows("bandage"), store.rows("bandage_change")
    eligible = rows[rows["status"] == "eligible"]
    watched = eligible[eligible["followed_to"].fillna(0) > 0].reset_index(drop=True)
    watched = watched.assign(followed_to=watched["followed_to"].clip(upper=protocol.healing.horizon))
    phases = _phases(protocol)
    mean, rates = [], []
    for species, part in watched.groupby("species"):
        mine = changes.merge(part[["case_code", "followed_to"]], on="case_code")
        mine = mine[mine["day"] <= mine["followed_to"]]
        watch = (part["case_code"].to_numpy(), part["followed_to"].to_numpy(float), part["animal"].to_numpy())
        events = (mine["case_code"].to_numpy(), mine["day"].to_numpy(float))
        mean.append((str(species), mean_cumulative(*events, *watch, level=protocol.analysis.level)))
        rates.append(
            (str(species), phase_rates(*events, *watch, phases=[p[:2] for p in phases], level=protocol.analysis.level))
        )
    never = eligible.loc[eligible["followed_to"].fillna(0) <= 0, "case_code"]
    return BandageAnswer(tuple(mean), tuple(rates), phases, watched, tuple(sorted(never)))


def _phases(protocol: Protocol) -> tuple[tuple[int, int, int], ...]:
    ends = protocol.bandage.phases
    starts = (0, *(end + 1 for end in ends[:-1]))
    return tuple(zip(starts, ends, protocol.bandage.longest_gap, strict=True))
