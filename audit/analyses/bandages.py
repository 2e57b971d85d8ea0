"""How often bandages were changed, set beside the practice's own schedule, and what that adds up to."""

from dataclasses import dataclass

import pandas as pd

from audit.analyses.groups import by_species
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.recurrent import MeanCumulative, mean_cumulative, phase_rates
from audit.store import Store


@dataclass(frozen=True, slots=True, eq=False)
class BandageAnswer:
    """
    Bandage changes of the eligible cases that were seen after surgery.

    `mean` is the mean number of changes a case by day; `rates` the changes a watched day in each phase of the
    protocol; `planned` the longest planned days between changes there, as (from day, to day, days). `cases` has a row
    a case: case_code, animal, species, method_group, changes, changes_by_7, first_change_day, longest_gap,
    followed_to, is_healed.
    """

    mean: tuple[tuple[str, MeanCumulative], ...]
    rates: tuple[tuple[str, tuple[Estimate, ...]], ...]
    planned: tuple[tuple[int, int, int], ...]
    cases: pd.DataFrame
    not_watched: tuple[tuple[str, tuple[str, ...]], ...]


def bandages(store: Store, protocol: Protocol) -> BandageAnswer:
    """Count changes while each case was watched: to its last professional look, at most to the healing horizon."""
    rows, changes = store.rows("bandage"), store.rows("bandage_change")
    asked = rows[(rows["status"] == "eligible") | (rows["reason"] == "bandage changes not recorded")]
    is_watched = (asked["status"] == "eligible") & (asked["followed_to"].fillna(0) > 0)
    watched = asked[is_watched].reset_index(drop=True)
    healed = store.rows("healing").loc[lambda frame: frame["right_day"].notna(), "case_code"]
    watched = watched.assign(
        followed_to=watched["followed_to"].clip(upper=protocol.healing.horizon),
        is_healed=watched["case_code"].isin(healed),
    )
    phases = _phases(protocol)
    mean, rates = [], []
    for species, part in by_species(watched):
        mine = changes.merge(part[["case_code", "followed_to"]], on="case_code")
        mine = mine[mine["day"] <= mine["followed_to"]]
        seen = (mine["case_code"], mine["day"], part["case_code"], part["followed_to"])
        animal, level = part["animal"], protocol.analysis.level
        mean.append((species, mean_cumulative(*seen, clusters=animal, level=level)))
        spans = [(first, last) for first, last, _ in phases]
        rates.append((species, phase_rates(*seen, clusters=animal, phases=spans, level=level)))
    left = asked[~is_watched].fillna({"reason": "not seen after surgery"})
    return BandageAnswer(
        tuple(mean),
        tuple(rates),
        phases,
        watched,
        tuple((str(reason), tuple(sorted(part["case_code"]))) for reason, part in left.groupby("reason")),
    )


def _phases(protocol: Protocol) -> tuple[tuple[int, int, int], ...]:
    ends = protocol.bandage.phases
    starts = (0, *(end + 1 for end in ends[:-1]))
    return tuple(zip(starts, ends, protocol.bandage.longest_gap, strict=True))
