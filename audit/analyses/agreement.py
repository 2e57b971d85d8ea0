"""Whether raters agree on the grades, and each with himself, before anything is read into the grades."""

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from audit.analyses.scores import GRADES
from audit.analyses.tally import in_order
from audit.cases import Cases
from audit.errors import TooFewData
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.agreement import gwet_ac2, krippendorff_alpha, rating_table, weighted_kappa
from audit.stats.measurement import LimitsOfAgreement, intraclass_correlation, limits_of_agreement

MEASURES = ("viable_pct", "open_area")
KAPPA_WEIGHTS = "quadratic"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ItemAgreement:
    """
    Agreement on one item over photographs that two raters or more graded.

    `table` counts pairs of grades of the two busiest raters together; `exact` of `pairs` pairs of ratings are the same.
    The coefficients are None, with the reason, under the protocol's smallest number of photographs. `repeats` are
    hidden second readings: how many, and how many gave the same grade again. `kappa` is for just two raters; it has an
    interval only where no animal has two photographs.
    """

    item: str
    photographs: int
    raters: int
    exact: int
    pairs: int
    table: np.ndarray
    alpha: Estimate | None
    ac2: Estimate | None
    refused: str
    repeats: tuple[int, int]
    kappa: Estimate | None = None


@dataclass(frozen=True, slots=True, eq=False)
class MeasureAgreement:
    """Agreement of the two busiest raters on a measured item, in its unit; None, with the reason, where refused."""

    item: str
    photographs: int
    limits: LimitsOfAgreement | None
    correlation: Estimate | None
    refused: str


def measured_agreement(cases: Cases) -> tuple[MeasureAgreement, ...]:
    """One answer for each of percent viable and open area that two raters measured on one photograph."""
    protocol, ratings = cases.protocol, cases.rows("rating_tally")
    fewest, level, answers = protocol.analysis.smallest_photographs, protocol.analysis.level, []
    for item in MEASURES:
        wide = _by_photograph(ratings[ratings["item"] == item])
        values = wide.to_numpy(float)
        if not len(values):
            continue
        first, second = _together(values)
        both = ~np.isnan(values[:, [first, second]]).any(axis=1)
        pairs, animals = values[both][:, [first, second]], wide.index.get_level_values("animal").to_numpy()[both]
        try:
            limits = limits_of_agreement(pairs[:, 0], pairs[:, 1], level=level, fewest=fewest)
            correlation = intraclass_correlation(pairs, animal=animals, level=level, fewest=fewest)
            answers.append(MeasureAgreement(item, len(pairs), limits, correlation, ""))
        except TooFewData as reason:
            answers.append(MeasureAgreement(item, len(pairs), None, None, str(reason)))
    return tuple(answers)


def agreement(cases: Cases) -> tuple[ItemAgreement, ...]:
    """One answer an item with any photograph graded twice; dogs and cats together, since it is of the raters."""
    ratings = cases.rows("rating_tally")
    ratings = ratings[ratings["item"].isin(list(GRADES)) & ratings["value"].notna() & ratings["is_rater_known"]]
    found = [_item(str(item), part, cases.protocol) for item, part in ratings.groupby("item")]
    return tuple(sorted((each for each in found if each), key=lambda each: list(GRADES).index(each.item)))


def _item(item: str, ratings: pd.DataFrame, protocol: Protocol) -> ItemAgreement | None:
    wide = _by_photograph(ratings)
    if wide.empty:
        return None
    grades, values = GRADES[item], wide.to_numpy()
    alpha, ac2, refused = _coefficients(values, wide.index.get_level_values("animal").to_numpy(), grades, protocol)
    exact = pairs = 0
    for a in range(values.shape[1]):
        for b in range(a + 1, values.shape[1]):
            both = ~np.isnan(values[:, [a, b]]).any(axis=1)
            pairs += int(both.sum())
            exact += int((values[both, a] == values[both, b]).sum())
    table, of_two = _busiest(values, grades), alpha is not None and wide.shape[1] == 2
    kappa = _kappa(table, wide.index.get_level_values("animal").is_unique, protocol) if of_two else None
    return ItemAgreement(
        item=item,
        photographs=len(wide),
        raters=wide.shape[1],
        exact=exact,
        pairs=pairs,
        table=table,
        alpha=alpha,
        ac2=ac2,
        refused=refused,
        repeats=_repeats(ratings),
        kappa=kappa,
    )


def _kappa(table: np.ndarray, is_independent: bool, protocol: Protocol) -> Estimate:
    level, fewest = protocol.analysis.level, protocol.analysis.smallest_photographs
    kappa = weighted_kappa(table, weights=KAPPA_WEIGHTS, level=level, fewest=fewest)
    # The large-sample interval is too short where photographs of one animal are alike; alpha's allows for that.
    return kappa if is_independent else replace(kappa, low=None, high=None)


def _coefficients(
    values: np.ndarray, animals: np.ndarray, grades: int, protocol: Protocol
) -> tuple[Estimate | None, Estimate | None, str]:
    def seeded() -> np.random.Generator:
        return np.random.default_rng(protocol.analysis.seed)

    fewest, level = protocol.analysis.smallest_photographs, protocol.analysis.level
    try:
        alpha = krippendorff_alpha(values, categories=grades, animal=animals, rng=seeded(), level=level, fewest=fewest)
        ac2 = gwet_ac2(values, categories=grades, animal=animals, rng=seeded(), level=level, fewest=fewest)
    except TooFewData as reason:
        return None, None, str(reason)
    return alpha, ac2, ""


def _by_photograph(ratings: pd.DataFrame) -> pd.DataFrame:
    """
    First readings of the photographs that two raters or more judged: a row a photograph, a column a rater.

    Photographs come in the order of their readings, and animals are numbered in it: see `tally.in_order`.
    """
    first = ratings[~ratings["is_repeat"].fillna(False).astype(bool) & ratings["is_rater_known"]]
    wide = first.pivot_table(index=["animal", "photograph"], columns="rater", values="value", aggfunc="last")
    wide = wide[wide.notna().sum(axis=1) >= 2].astype(float)
    if wide.empty:
        return wide
    kind = np.unique(wide.fillna(np.inf).to_numpy(), axis=0, return_inverse=True)[1].ravel()
    order, animal = in_order(kind, wide.index.get_level_values("animal").to_numpy())
    photograph = wide.index.get_level_values("photograph").to_numpy()[order]
    return wide.iloc[order].set_axis(pd.MultiIndex.from_arrays([animal, photograph], names=wide.index.names))


def _together(values: np.ndarray) -> tuple[int, int]:
    """The columns of the two raters who judged most photographs together."""
    seen = (~np.isnan(values)).astype(int)
    shared = seen.T @ seen
    np.fill_diagonal(shared, -1)
    first, second = sorted(divmod(int(shared.argmax()), len(shared)))
    return first, second


def _busiest(values: np.ndarray, grades: int) -> np.ndarray:
    """Pairs of grades of the two raters who graded most photographs together."""
    a, b = _together(values)
    both = ~np.isnan(values[:, [a, b]]).any(axis=1)
    return rating_table(values[both, a].astype(int), values[both, b].astype(int), grades)


def _repeats(ratings: pd.DataFrame) -> tuple[int, int]:
    again = ratings[ratings["is_repeat"].fillna(False).astype(bool)]
    key = ["photograph", "rater"]
    pairs = again.merge(ratings.drop(index=again.index), on=key, suffixes=("_again", ""))
    return len(pairs), int((pairs["value_again"] == pairs["value"]).sum())
