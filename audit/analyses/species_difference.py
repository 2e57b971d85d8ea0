"""Dogs and cats side by side on one question: how far apart, and what chance alone would do; no cause is told."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import GroupShare
from audit.analyses.tally import by_animal
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.proportions import newcombe_difference, permutation_p

FEWEST_EVENTS = 5


@dataclass(frozen=True, slots=True)
class SpeciesDifference:
    """
    Cats less dogs, from the known cases of each.

    `difference` is None, and `refused` says why, where either has fewer known cases than the protocol asks for a
    percentage. `p` is None under five cases with, or without, the outcome; `p_method` says how it was computed.
    """

    dogs: GroupShare
    cats: GroupShare
    difference: Estimate | None
    p: float | None
    p_method: str
    refused: str


def species_difference(
    rows: pd.DataFrame, groups: tuple[GroupShare, ...], protocol: Protocol
) -> SpeciesDifference | None:
    """
    How far apart the shares of dogs and cats are; None where only one species was asked about.

    `groups` are the shares by species of the tallied rows (species, status).
    """
    found = {group.species: group for group in groups}
    if set(found) != {"dog", "cat"}:
        return None
    dogs, cats = found["dog"], found["cat"]
    fewest = protocol.analysis.smallest_percentage
    if dogs.share is None or cats.share is None or min(dogs.cases.known, cats.cases.known) < fewest:
        return SpeciesDifference(dogs, cats, None, None, "", f"both need {fewest} known cases")
    difference = newcombe_difference(
        cats.share.estimate, dogs.share.estimate, quantity=f"{dogs.cases.question}, cats less dogs"
    )
    counts = [len(dogs.cases.sure_yes) + len(cats.cases.sure_yes), len(dogs.cases.sure_no) + len(cats.cases.sure_no)]
    if min(counts) < FEWEST_EVENTS:
        return SpeciesDifference(dogs, cats, difference, None, "", "")
    p, method = permutation_p(
        _tally(rows, "cat"), _tally(rows, "dog"), rng=np.random.default_rng(protocol.analysis.seed)
    )
    return SpeciesDifference(dogs, cats, difference, p, method, "")


def _tally(rows: pd.DataFrame, species: str) -> tuple[np.ndarray, np.ndarray]:
    """Cases with the outcome, and known cases, of each animal."""
    known = rows[(rows["species"] == species) & rows["status"].isin(["sure_yes", "sure_no"])]
    yes, of, weight = by_animal(known.assign(is_yes=known["status"] == "sure_yes"), "is_yes")
    return np.repeat(yes, weight), np.repeat(of, weight)
