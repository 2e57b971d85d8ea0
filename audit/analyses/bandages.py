"""How often bandages were changed, set beside the practice's own schedule, and what that adds up to."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import by_species
from audit.cases import Cases
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.recurrent import MeanCumulative, longest_gaps, mean_cumulative, phase_rates


@dataclass(frozen=True, slots=True)
class Waits:
    """
    The longest wait of each case of one species among those that began in one phase, against the planned days.

    A wait begins on the day of surgery or of a change, and ends with the next change, the first look that found the
    wound healed, or the end of watching; then it was at least so long. `cases` began one, `late` waited longer than
    `planned`; `longest` is of all of them, in days, None where there is no case.
    """

    species: str
    first_day: int
    last_day: int
    planned: int
    cases: tuple[str, ...]
    late: tuple[str, ...]
    longest: float | None


@dataclass(frozen=True, slots=True, eq=False)
class BandageAnswer:
    """
    Bandage changes of the eligible cases that were seen after surgery.

    `mean` is the mean number of changes a case by day; `rates` the changes a watched day in each phase of the
    protocol; `planned` the longest planned days between changes there, as (from day, to day, days). `cases` has a row
    a case: case_code, animal, species, method_group, changes, changes_by_7, first_change_day, longest_gap,
    followed_to, is_healed. `waits` has the longest waits by species and phase.
    """

    mean: tuple[tuple[str, MeanCumulative], ...]
    rates: tuple[tuple[str, tuple[Estimate, ...]], ...]
    planned: tuple[tuple[int, int, int], ...]
    cases: pd.DataFrame
    not_watched: tuple[tuple[str, tuple[str, ...]], ...]
    waits: tuple[Waits, ...] = ()


def bandages(cases: Cases) -> BandageAnswer:
    """Count changes while each case was watched: to its last professional look, at most to the healing horizon."""
    protocol = cases.protocol
    rows, changes = cases.rows("bandage"), cases.rows("bandage_change")
    asked = rows[(rows["status"] == "eligible") | (rows["reason"] == "bandage changes not recorded")]
    is_watched = (asked["status"] == "eligible") & (asked["followed_to"].fillna(0) > 0)
    watched = asked[is_watched].reset_index(drop=True)
    healed_on = cases.rows("healing").set_index("case_code")["right_day"].dropna()
    watched = watched.assign(
        followed_to=watched["followed_to"].clip(upper=protocol.healing.horizon),
        is_healed=watched["case_code"].isin(healed_on.index),
    )
    phases = _phases(protocol)
    mean, rates, waits = [], [], []
    for species, part in by_species(watched):
        mine = changes.merge(part[["case_code", "followed_to"]], on="case_code")
        mine = mine[mine["day"] <= mine["followed_to"]]
        seen = (mine["case_code"], mine["day"], part["case_code"], part["followed_to"])
        animal, level = part["animal"], protocol.analysis.level
        mean.append((species, mean_cumulative(*seen, animal=animal, level=level)))
        spans = [(first, last) for first, last, _ in phases]
        rates.append((species, phase_rates(*seen, animal=animal, phases=spans, level=level)))
        end = np.fmin(part["followed_to"].to_numpy(float), part["case_code"].map(healed_on).to_numpy(float))
        waits += [_waits(species, phase, part["case_code"], end, mine) for phase in phases]
    left = asked[~is_watched].fillna({"reason": "not seen after surgery"})
    return BandageAnswer(
        tuple(mean),
        tuple(rates),
        phases,
        watched,
        tuple((str(reason), tuple(sorted(part["case_code"]))) for reason, part in left.groupby("reason")),
        tuple(waits),
    )


def _waits(
    species: str, phase: tuple[int, int, int], codes: pd.Series, end: np.ndarray, changes: pd.DataFrame
) -> Waits:
    """The clock runs from the first change of the phase, or from surgery, to the first change after the phase."""
    first, last, planned = phase
    inside, after = changes[changes["day"].between(first, last)], changes[changes["day"] > last]
    start = codes.map(inside.groupby("case_code")["day"].min()).to_numpy(float) if first else np.zeros(len(codes))
    stop = np.fmin(end, codes.map(after.groupby("case_code")["day"].min()).to_numpy(float))
    began = start < stop
    if not began.any():
        return Waits(species, first, last, planned, (), (), None)
    mine = codes[began].to_numpy()
    clock = pd.DataFrame({"case_code": mine, "start": start[began], "stop": stop[began]})
    between = inside.merge(clock, on="case_code")
    between = between[(between["day"] > between["start"]) & (between["day"] < between["stop"])]
    longest = longest_gaps(
        between["case_code"], between["day"] - between["start"], clock["case_code"], clock["stop"] - clock["start"]
    )
    return Waits(
        species, first, last, planned, tuple(sorted(mine)), tuple(sorted(mine[longest > planned])), float(longest.max())
    )


def _phases(protocol: Protocol) -> tuple[tuple[int, int, int], ...]:
    ends = protocol.bandage.phases
    starts = (0, *(end + 1 for end in ends[:-1]))
    return tuple(zip(starts, ends, protocol.bandage.longest_gap, strict=True))
