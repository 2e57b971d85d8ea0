"""Shares of cases by group, as every question of this audit counts them: known, unknown, clustered by animal."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import pandas as pd

from audit.codes import SPECIES
from audit.results import Estimate, ThreeWay
from audit.stats.proportions import ClusteredShare, clopper_pearson, clustered_share


@dataclass(frozen=True, slots=True)
class GroupShare:
    """
    One group of one question: the case codes behind it, and the share among the known (None where none is known).

    `exact` has the exact interval, which supposes independent cases: None where an animal has more than one.
    """

    species: str
    group: str
    cases: ThreeWay
    share: ClusteredShare | None
    reasons: tuple[tuple[str, int], ...]
    """Why cases could not be told, with how many each."""
    exact: Estimate | None = None


_PLACE = {species.name: place for place, species in enumerate(SPECIES)}


def species_place(species: str) -> int:
    """
    Where a species stands in every list and figure, from 0.

    >>> sorted(["cat", "dog"], key=species_place)
    ['dog', 'cat']
    """
    return _PLACE[species]


def by_species(frame: pd.DataFrame) -> Iterator[tuple[str, pd.DataFrame]]:
    """The rows of each species that there is, dogs first: they are never pooled."""
    for species in _PLACE:
        part = frame[frame["species"] == species]
        if len(part):
            yield species, part


def three_way(frame: pd.DataFrame, question: str) -> ThreeWay:
    """The case codes of a frame with columns case_code, status and reason, sorted."""
    frame = frame.sort_values("case_code")

    def codes(status: str) -> tuple[str, ...]:
        return tuple(frame.loc[frame["status"] == status, "case_code"])

    left_out = frame[frame["status"] == "excluded"]
    return ThreeWay(
        question,
        codes("sure_yes"),
        codes("sure_no"),
        codes("cannot_tell"),
        tuple(zip(left_out["case_code"], left_out["reason"], strict=True)),
    )


def group_share(frame: pd.DataFrame, question: str, *, species: str, group: str, level: float) -> GroupShare:
    """
    The share of sure yes among the known cases of a frame, its interval clustered by `animal`.

    Cases that cannot be told are counted and named but move no estimate; the bounds of the three-way answer hold them.
    """
    known = frame[frame["status"].isin(["sure_yes", "sure_no"])]
    by_animal = known.assign(yes=known["status"] == "sure_yes").groupby("animal")["yes"].agg(["sum", "size"])
    share = exact = None
    if len(by_animal):
        share = clustered_share(by_animal["sum"], by_animal["size"], quantity=question, level=level)
        if len(by_animal) == len(known):
            yes = int(by_animal["sum"].sum())
            exact = clopper_pearson(yes, len(known), quantity=question, level=level)
    unknown = frame.loc[frame["status"] == "cannot_tell", "reason"].value_counts()
    reasons = tuple(sorted(((str(reason), int(n)) for reason, n in unknown.items()), key=lambda r: (-r[1], r[0])))
    return GroupShare(species, group, three_way(frame, question), share, reasons, exact)


def by_group(
    frame: pd.DataFrame, question: str, column: str | None, *, level: float, order: Iterable[str] = ()
) -> tuple[GroupShare, ...]:
    """
    One GroupShare for every species and value of `column` that was asked about; dogs and cats are never pooled.

    Groups come in the given order, then by name; `column` None gives one group a species.
    """
    asked = frame[frame["status"] != "excluded"]
    place = {name: i for i, name in enumerate(order)}
    pairs = asked.assign(group="all" if column is None else asked[column])[["species", "group"]].drop_duplicates()
    found = sorted(
        pairs.itertuples(index=False),
        key=lambda pair: (species_place(pair.species), place.get(pair.group, len(place)), pair.group),
    )
    return tuple(
        group_share(
            frame[(frame["species"] == p.species) & (column is None or frame[column or "species"] == p.group)],
            question,
            species=p.species,
            group=p.group,
            level=level,
        )
        for p in found
    )
