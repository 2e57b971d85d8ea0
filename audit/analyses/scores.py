"""How hair and looks were graded months later, across methods: a description of these cases, no ranking of methods."""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from audit.analyses import tally
from audit.analyses.groups import GroupShare, by_group, species_place
from audit.analyses.owners import OwnerMarks, owner_marks
from audit.analyses.tally import codes, individuals
from audit.cases import Cases
from audit.codes import SCORE_ITEM
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.kruskal import DunnPair, RankTest, dunn_pairs, kruskal_wallis
from audit.stats.ordinal import superiority

GRADES = {item.name: item.grades for item in SCORE_ITEM if item.grades}
HIGHEST_HAIR = GRADES["hair"] - 1
SMALLEST_GROUP = 3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ItemScores:
    """
    One item in one species.

    `counts` has a row for each method group and grade: cases and case_codes. `medians` pairs a method group with its
    median grade and its number of cases. `pairs` compares two method groups where both have enough cases; `all_alike`
    tests whether all such groups could be graded alike, None with fewer than two or an animal in two of them. `apart`
    pairs method groups with Dunn's test of them, where there are three groups or more and one case an animal.
    """

    item: str
    species: str
    grades: int
    scored: int
    asked: int
    reasons: tuple[tuple[str, int], ...]
    counts: pd.DataFrame
    medians: tuple[tuple[str, float, int], ...]
    pairs: tuple[tuple[str, str, Estimate], ...]
    all_alike: RankTest | None
    apart: tuple[tuple[str, str, DunnPair], ...] = ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ScoreAnswer:
    """
    All items that were rated, hair first; `blinded` counts ratings by raters blind to the method, of those known.

    `good_hair` has the share of cases with a hair grade of `good_grade` or better, by species and by method group
    within it; a case without a grade cannot be told. `blinding_unknown` counts ratings of which it is not on record.
    `owners` has owners' own marks of look, which are never joined to those ratings.
    """

    items: tuple[ItemScores, ...]
    blinded: tuple[int, int]
    from_day: int
    good_grade: int
    good_hair: tuple[GroupShare, ...]
    owners: tuple[OwnerMarks, ...] = ()
    blinding_unknown: int = 0


def scores(cases: Cases) -> ScoreAnswer:
    """Consensus grades of the eligible cases from the protocol's day on, by species and method group."""
    protocol, rows = cases.protocol, cases.rows("score_tally")
    asked = rows[rows["status"] != "excluded"]
    ratings = cases.rows("rating_tally")
    ratings = ratings[(ratings["case_status"] == "eligible") & ratings["item"].isin(list(GRADES))]
    items = [
        _item(str(item), str(species), part, protocol)
        for (item, species), part in asked.groupby(["item", "species"])
        if item in GRADES and (part["status"] == "scored").any()
    ]
    order = list(GRADES)
    blind = ratings["blinded_to_method"].dropna().astype(bool)
    return ScoreAnswer(
        items=tuple(sorted(items, key=lambda i: (order.index(i.item), species_place(i.species)))),
        blinded=(int(blind.sum()), len(blind)),
        from_day=protocol.hair.from_day,
        good_grade=protocol.hair.good_grade,
        good_hair=_good_hair(rows[rows["item"] == "hair"], protocol),
        owners=owner_marks(rows, level=protocol.analysis.level),
        blinding_unknown=len(ratings) - len(blind),
    )


def _good_hair(rows: pd.DataFrame, protocol: Protocol) -> tuple[GroupShare, ...]:
    good, level = protocol.hair.good_grade, protocol.analysis.level
    graded = np.where(rows["value"] >= good, "sure_yes", "sure_no")
    status = np.where(rows["status"] == "scored", graded, rows["status"].replace("not_scored", "cannot_tell"))
    rows, question = rows.assign(status=status), f"hair grade {good}{' or better' if good < HIGHEST_HAIR else ''}"
    groups = (*by_group(rows, question, None, level=level), *by_group(rows, question, "method_group", level=level))
    return tuple(sorted(groups, key=lambda group: species_place(group.species)))


def _item(item: str, species: str, asked: pd.DataFrame, protocol: Protocol) -> ItemScores:
    is_scored = asked["status"] == "scored"
    counts = (
        asked[is_scored]
        .groupby(["method_group", "value"], as_index=False)
        .agg(
            cases=("weight", "sum"),
            case_codes=("case_codes", codes),
        )
        .astype({"cases": int})
    )
    scored = individuals(asked[is_scored])
    groups = {str(name): part for name, part in scored.groupby("method_group")}
    large = [name for name, part in groups.items() if part["animal"].nunique() >= SMALLEST_GROUP]
    return ItemScores(
        item=item,
        species=species,
        grades=GRADES[item],
        scored=len(scored),
        asked=tally.cases(asked),
        reasons=tally.reasons(asked[~is_scored]),
        counts=counts,
        medians=tuple((name, float(part["value"].median()), len(part)) for name, part in groups.items()),
        pairs=tuple((a, b, _pair(groups[a], groups[b], protocol.analysis.level)) for a, b in combinations(large, 2)),
        all_alike=_all_alike([groups[name] for name in large], protocol.analysis.seed),
        apart=_apart({name: groups[name] for name in large}),
    )


def _apart(groups: dict[str, pd.DataFrame]) -> tuple[tuple[str, str, DunnPair], ...]:
    animals = pd.concat([part["animal"] for part in groups.values()]) if len(groups) > 2 else pd.Series(dtype=object)
    if len(groups) < 3 or animals.duplicated().any():
        return ()
    names = list(groups)
    pairs = dunn_pairs([part["value"].to_numpy(float) for part in groups.values()])
    return tuple((names[pair.first], names[pair.second], pair) for pair in pairs)


def _all_alike(groups: list[pd.DataFrame], seed: int) -> RankTest | None:
    animals = [part["animal"].to_numpy() for part in groups]
    if len(groups) < 2 or len(set(np.concatenate(animals))) < sum(len(set(names)) for names in animals):
        return None
    values = [part["value"].to_numpy(float) for part in groups]
    return kruskal_wallis(values, animal=animals, rng=np.random.default_rng(seed))


def _pair(first: pd.DataFrame, second: pd.DataFrame, level: float) -> Estimate:
    return superiority(
        first["value"].to_numpy(float),
        second["value"].to_numpy(float),
        first_animal=first["animal"].to_numpy(),
        second_animal=second["animal"].to_numpy(),
        level=level,
    )
