"""Shares of cases by group, as every question of this audit counts them: known, unknown, clustered by animal."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import pandas as pd

from audit.analyses.tally import by_animal, members, reasons
from audit.codes import SPECIES
from audit.results import Estimate, ThreeWay
from audit.stats.proportions import ClusteredShare, clopper_pearson, clustered_share


@dataclass(frozen=True, slots=True)
class GroupShare:
    """
    One group of one question: the cases behind it, and the share among the known (None where none is known).

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


def three_way(rows: pd.DataFrame, question: str) -> ThreeWay:
    """The answer of tallied rows with columns status and reason."""
    left_out = rows[rows["status"] == "excluded"]
    sure_yes, sure_no, cannot_tell = (
        members(rows[rows["status"] == status]) for status in ("sure_yes", "sure_no", "cannot_tell")
    )
    return ThreeWay(
        question,
        sure_yes,
        sure_no,
        cannot_tell,
        tuple((str(reason), members(part)) for reason, part in left_out.groupby("reason")),
    )


def group_share(rows: pd.DataFrame, question: str, *, species: str, group: str, level: float) -> GroupShare:
    """
    The share of sure yes among the known cases of tallied rows, its interval clustered by `animal`.

    Cases that cannot be told are counted and named but move no estimate; the bounds of the three-way answer hold them.
    """
    known = rows[rows["status"].isin(["sure_yes", "sure_no"])]
    yes, of, weight = by_animal(known.assign(is_yes=known["status"] == "sure_yes"), "is_yes")
    share = exact = None
    if len(weight):
        share = clustered_share(yes, of, weight=weight, quantity=question, level=level)
        if (of == 1).all():
            exact = clopper_pearson(int(yes @ weight), int(weight.sum()), quantity=question, level=level)
    unknown = reasons(rows[rows["status"] == "cannot_tell"])
    return GroupShare(species, group, three_way(rows, question), share, unknown, exact)


def by_group(
    rows: pd.DataFrame, question: str, column: str | None, *, level: float, order: Iterable[str] = ()
) -> tuple[GroupShare, ...]:
    """
    One GroupShare of tallied rows for every species and value of `column` asked about; species are never pooled.

    Groups come in the given order, then by name; `column` None gives one group a species.
    """
    asked = rows[rows["status"] != "excluded"]
    place = {name: i for i, name in enumerate(order)}
    pairs = asked.assign(group="all" if column is None else asked[column])[["species", "group"]].drop_duplicates()
    ordered = sorted(
        pairs.itertuples(index=False),
        key=lambda pair: (species_place(pair.species), place.get(pair.group, len(place)), pair.group),
    )
    return tuple(
        group_share(
            rows[(rows["species"] == p.species) & (column is None or rows[column or "species"] == p.group)],
            question,
            species=p.species,
            group=p.group,
            level=level,
        )
        for p in ordered
    )
