"""Whether raters agree on the grades, and each with himself, before anything is read into the grades."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.scores import GRADES
from audit.errors import TooFewData
from audit.protocol import Protocol
from audit.results import Estimate
from audit.stats.agreement import gwet_ac2, krippendorff_alpha, rating_table
from audit.store import Store


@dataclass(frozen=True, slots=True, eq=False)
class ItemAgreement:
    """
    Agreement on one item over photographs that two raters or more graded.

    `table` counts pairs of grades of the two busiest raters together; `exact` of `pairs` pairs of ratings are the same.
    The coefficients are None, with the reason, under the protocol's smallest number of photographs. `repeats` are
    hidden second readings: how many, and how many gave the same grade again.
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


def agreement(store: Store, protocol: Protocol) -> tuple[ItemAgreement, ...]:
    """One answer an item with any photograph graded twice; dogs and cats together, since it is of the raters."""
    ratings = store.rows("rating")
    ratings = ratings[ratings["item"].isin(list(GRADES)) & ratings["value"].notna() & ratings["rater_code"].notna()]
    found = [_item(str(item), part, protocol) for item, part in ratings.groupby("item")]
    return tuple(sorted((each for each in found if each), key=lambda each: list(GRADES).index(each.item)))


def _item(item: str, ratings: pd.DataFrame, protocol: Protocol) -> ItemAgreement | None:
    first = ratings[~ratings["is_repeat"].fillna(False).astype(bool)]
    wide = first.pivot_table(index=["animal", "case_code", "day"], columns="rater_code", values="value", aggfunc="last")
    wide = wide[wide.notna().sum(axis=1) >= 2].astype(float)
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
    return ItemAgreement(
        item, len(wide), wide.shape[1], exact, pairs, _busiest(values, grades), alpha, ac2, refused, _repeats(ratings)
    )


def _coefficients(
    values: np.ndarray, animals: np.ndarray, grades: int, protocol: Protocol
) -> tuple[Estimate | None, Estimate | None, str]:
    def seeded() -> np.random.Generator:
        return np.random.default_rng(protocol.analysis.seed)

    fewest, level = protocol.analysis.smallest_photographs, protocol.analysis.level
    try:
        alpha = krippendorff_alpha(
            values, categories=grades, animals=animals, generator=seeded(), level=level, fewest=fewest
        )
        ac2 = gwet_ac2(values, categories=grades, animals=animals, generator=seeded(), level=level, fewest=fewest)
    except TooFewData as reason:
        return None, None, str(reason)
    return alpha, ac2, ""


def _busiest(values: np.ndarray, grades: int) -> np.ndarray:
    """Pairs of grades of the two raters who graded most photographs together."""
    seen = ~np.isnan(values)
    together = seen.T.astype(int) @ seen.astype(int)
    np.fill_diagonal(together, -1)
    a, b = sorted(divmod(int(together.argmax()), len(together)))
    both = seen[:, a] & seen[:, b]
    return rating_table(values[both, a].astype(int), values[both, b].astype(int), grades)


def _repeats(ratings: pd.DataFrame) -> tuple[int, int]:
    again = ratings[ratings["is_repeat"].fillna(False).astype(bool)]
    key = ["case_code", "day", "rater_code"]
    pairs = again.merge(ratings.drop(index=again.index), on=key, suffixes=("_again", ""))
    return len(pairs), int((pairs["value_again"] == pairs["value"]).sum())
