"""How owners marked the look, 0 to 10: every mark by species and method, described and never joined to vets' grades."""

from dataclasses import dataclass
from itertools import combinations

import pandas as pd

from audit.analyses import tally
from audit.analyses.groups import by_species
from audit.analyses.tally import individuals
from audit.results import Estimate
from audit.stats.hodges_lehmann import hodges_lehmann
from audit.stats.median import median_interval

ALL = "all"
FEWEST_MARKS = 5


@dataclass(frozen=True, slots=True)
class MarkedGroup:
    """The marks of one method group, lowest first, with their cases (None: code not at hand), and their median."""

    group: str
    cases: tuple[str | None, ...]
    marks: tuple[float, ...]
    median: Estimate


@dataclass(frozen=True, slots=True)
class OwnerMarks:
    """
    Owners' marks of look in one species, one an animal.

    `groups` starts with all methods together, then each method group; without a mark it is empty. `reasons` says why
    cases have no mark that counts. `shifts` has the median difference of marks, first less second, of two method
    groups with five marks or more each.
    """

    species: str
    asked: int
    reasons: tuple[tuple[str, int], ...]
    groups: tuple[MarkedGroup, ...]
    shifts: tuple[tuple[str, str, Estimate], ...]


def owner_marks(scores: pd.DataFrame, *, level: float) -> tuple[OwnerMarks, ...]:
    """From the rows of `score_tally`, in which an animal with several marked cases speaks by its first one."""
    asked = scores[(scores["item"] == "look_owner") & (scores["status"] != "excluded")]
    return tuple(_species(species, part, level) for species, part in by_species(asked))


def _species(species: str, asked: pd.DataFrame, level: float) -> OwnerMarks:
    is_marked = asked["status"] == "scored"
    marked = individuals(asked[is_marked])
    groups = {str(name): part for name, part in marked.groupby("method_group")}
    large = [name for name, part in groups.items() if len(part) >= FEWEST_MARKS]
    return OwnerMarks(
        species,
        tally.cases(asked),
        tally.reasons(asked[~is_marked]),
        tuple(_group(name, part, level) for name, part in {ALL: marked, **groups}.items() if len(part)),
        tuple((a, b, _shift(groups[a], groups[b], level)) for a, b in combinations(large, 2)),
    )


def _group(name: str, marked: pd.DataFrame, level: float) -> MarkedGroup:
    ordered = marked.sort_values(["value", "case_code"])
    marks = tuple(float(mark) for mark in ordered["value"])
    median = median_interval(marks, quantity="owner's mark of look", unit="animals", level=level)
    return MarkedGroup(name, tuple(ordered["case_code"]), marks, median)


def _shift(first: pd.DataFrame, second: pd.DataFrame, level: float) -> Estimate:
    values = (part["value"].to_numpy(float) for part in (first, second))
    return hodges_lehmann(*values, quantity="difference of owners' marks", level=level)
