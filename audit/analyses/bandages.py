"""How often bandages were changed, set beside the practice's own schedule, and what that adds up to."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import by_species
from audit.analyses.tally import individuals, members, of_individuals
from audit.cases import Cases
from audit.protocol import Protocol
from audit.results import Estimate, Members
from audit.stats.recurrent import MeanCumulative, longest_gaps, mean_cumulative, phase_rates


@dataclass(frozen=True, slots=True, kw_only=True)
class Waits:
    """
    The longest wait of each case of one species among those that began in one phase, against the planned days.

    A wait begins on the day of surgery or of a change, and ends with the next change, the first examination that
    found the wound healed, or the end of watching; then it was at least so long. `cases` began one, `late` waited
    longer than `planned`; `longest` is of all of them, in days, None where there is no case.
    """

    species: str
    first_day: int
    last_day: int
    planned: int
    cases: Members
    late: Members
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
    not_watched: tuple[tuple[str, Members], ...]
    waits: tuple[Waits, ...] = ()


def bandages(cases: Cases) -> BandageAnswer:
    """Count changes while each case was watched: to its last examination, at most to the healing horizon."""
    protocol, rows = cases.protocol, cases.rows("bandage_tally")
    is_watched = (rows["status"] == "eligible") & (rows["followed_to"].fillna(0) > 0)
    watched = individuals(rows[is_watched])
    watched = watched.assign(
        followed_to=watched["followed_to"].clip(upper=protocol.healing.horizon),
        is_healed=watched["healed_day"].notna(),
    )
    phases, level = _phases(protocol), protocol.analysis.level
    mean, rates, waits = [], [], []
    for species, part in by_species(watched):
        changes = part.explode("change_days").rename(columns={"change_days": "day"})[["followed_to", "day"]].dropna()
        changes = changes[changes["day"] <= changes["followed_to"]].astype({"day": int})
        seen = (changes.index, changes["day"], part.index, part["followed_to"])
        mean.append((species, mean_cumulative(*seen, animal=part["animal"], level=level)))
        spans = [(first, last) for first, last, _ in phases]
        rates.append((species, phase_rates(*seen, animal=part["animal"], phases=spans, level=level)))
        waits += [_waits(species, phase, part, changes["day"]) for phase in phases]
    left = rows[~is_watched].fillna({"reason": "not seen after surgery"})
    return BandageAnswer(
        tuple(mean),
        tuple(rates),
        phases,
        watched.drop(columns=["change_days", "healed_day"]),
        tuple((str(reason), members(part)) for reason, part in left.groupby("reason")),
        tuple(waits),
    )


def _waits(species: str, phase: tuple[int, int, int], cases: pd.DataFrame, changes: pd.Series) -> Waits:
    """The clock runs from the first change of the phase, or from surgery, to the first change after the phase."""
    first, last, planned = phase
    end = np.fmin(cases["followed_to"].to_numpy(float), cases["healed_day"].to_numpy(float, na_value=np.nan))
    inside, after = changes[changes.between(first, last)], changes[changes > last]
    start = inside.groupby(level=0).min().reindex(cases.index).to_numpy(float) if first else np.zeros(len(cases))
    stop = np.fmin(end, after.groupby(level=0).min().reindex(cases.index).to_numpy(float))
    began = start < stop
    if not began.any():
        return Waits(
            species=species,
            first_day=first,
            last_day=last,
            planned=planned,
            cases=Members(0),
            late=Members(0),
            longest=None,
        )
    clock = pd.DataFrame({"start": start[began], "stop": stop[began]}, index=cases.index[began])
    between = inside.to_frame("day").join(clock, how="inner")
    between = between[(between["day"] > between["start"]) & (between["day"] < between["stop"])]
    longest = longest_gaps(
        between.index, between["day"] - between["start"], clock.index, clock["stop"] - clock["start"]
    )
    waited = cases.loc[clock.index]
    return Waits(
        species=species,
        first_day=first,
        last_day=last,
        planned=planned,
        cases=of_individuals(waited),
        late=of_individuals(waited[longest > planned]),
        longest=float(longest.max()),
    )


def _phases(protocol: Protocol) -> tuple[tuple[int, int, int], ...]:
    ends = protocol.bandage.phases
    starts = (0, *(end + 1 for end in ends[:-1]))
    return tuple(zip(starts, ends, protocol.bandage.longest_gap, strict=True))
