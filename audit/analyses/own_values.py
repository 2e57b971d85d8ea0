"""Our own figures that an outside yardstick can be held against, species by species, with the cases behind each."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from audit.analyses.bandages import BandageAnswer
from audit.analyses.complications import ComplicationAnswer
from audit.analyses.donor import DonorAnswer
from audit.analyses.groups import GroupShare, by_species
from audit.analyses.healing import HealingAnswer, HealingCurve
from audit.analyses.published import COUNTERPARTS, PublishedFigure
from audit.analyses.take import TakeAnswer
from audit.analyses.tally import of_individuals
from audit.results import Estimate, Members
from audit.stats.median import median_interval


@dataclass(frozen=True, slots=True)
class Answers:
    """The answers that yardsticks are held against."""

    take: TakeAnswer
    healing: HealingAnswer
    complications: ComplicationAnswer
    donor: DonorAnswer
    bandages: BandageAnswer
    level: float = 0.95


@dataclass(frozen=True, slots=True)
class OwnValue:
    """One figure of ours in one species, None where no case bears on it; the cases behind it, and those unknown."""

    species: str
    estimate: Estimate | None
    cases: Members
    unknown: Members
    definition: str
    by_their_median: Estimate | None = None


BANDAGE_WORDS = {
    "bandage_gap_early": "median over cases of the mean days between changes in the first seven days",
    "first_change": "median day of the first change after surgery",
    "bandage_changes": "median number of changes recorded in cases seen healed",
}


def own_values(quantity: str, day: int, answers: Answers) -> list[OwnValue]:
    """Our figures for a quantity of the protocol's rules of thumb, one a species."""
    if quantity == "take":
        return [_share(group, f"{answers.take.question}, of the current outline") for group in answers.take.overall]
    if quantity == "sutures_out":
        return [_share(group, group.cases.question) for group in answers.donor.sutures]
    if quantity == "healed_by":
        return [_healed_by(curve, day) for curve in answers.healing.overall]
    return [_bandage(quantity, species, part, answers.level) for species, part in by_species(answers.bandages.cases)]


def counterparts(figure: PublishedFigure, answers: Answers) -> list[OwnValue]:
    """Our figures for the species and method group of a paper, or for both species where the paper pools them."""

    def same(species: str, group: str) -> bool:
        return group == figure.method_group and figure.species in (species, "both")

    groups = [each for each in COUNTERPARTS[figure.quantity](answers) if same(each.species, each.group)]
    if figure.quantity == "median_days":
        words = "median day of complete epithelialisation, seen at visits"
        return [
            OwnValue(curve.species, curve.median, curve.codes, Members(0), words, _by_day(curve, figure.value))
            for curve in groups
        ]
    return [_share(group, group.cases.question) for group in groups]


def _by_day(curve: HealingCurve, day: float | None) -> Estimate | None:
    """The share healed by a whole day, read off the band of the curve; None beyond its end."""
    band = curve.band
    found = np.flatnonzero(band.days == day)
    if not found.size:
        return None
    value, value_to, low, high = (float(ends[found[0]]) for ends in (band.value, band.value_to, band.low, band.high))
    return Estimate(
        quantity=f"healed by day {day:g}", value=value, value_to=value_to, low=low, high=high, level=band.level,
        method=band.method, unit="animals", denominator=len(curve.codes), animals=curve.animals,
    )  # fmt: skip


def _share(group: GroupShare, definition: str) -> OwnValue:
    estimate = group.share.estimate if group.share else None
    known = Members(group.cases.known, (*group.cases.sure_yes, *group.cases.sure_no))
    return OwnValue(group.species, estimate, known, group.cases.cannot_tell, definition)


def _healed_by(curve: HealingCurve, day: int) -> OwnValue:
    for asked, group, estimate in curve.shares:
        if asked == day:
            return replace(_share(group, f"seen fully epithelialised by day {day}"), estimate=estimate)
    return OwnValue(
        curve.species, None, Members(0), Members(0), f"day {day} is not among the days that the protocol asks about"
    )


def _bandage(quantity: str, species: str, cases: pd.DataFrame, level: float) -> OwnValue:
    if quantity == "bandage_gap_early":
        usable = cases[(cases["followed_to"] >= 7) & (cases["changes_by_7"] > 0)]
        values = 7 / usable["changes_by_7"].to_numpy(float)
    elif quantity == "first_change":
        usable = cases[cases["first_change_day"].notna()]
        values = usable["first_change_day"].to_numpy(float)
    else:
        usable = cases[cases["is_healed"].astype(bool)]
        values = usable["changes"].to_numpy(float)
    unknown = cases[~cases.index.isin(usable.index)]
    estimate = median_interval(values, quantity=quantity, unit="reconstructions", level=level) if len(values) else None
    return OwnValue(species, estimate, of_individuals(usable), of_individuals(unknown), BANDAGE_WORDS[quantity])
