"""Rows of a tally: alike cases counted together by `weight`, with their codes where their store is at hand."""

import numpy as np
import pandas as pd

from audit.results import Members

KEPT = ("animal", "weight", "case_codes")


def members(rows: pd.DataFrame) -> Members:
    """The cases of the rows, of which there may be none."""
    return Members(cases(rows), codes(rows["case_codes"]))


def codes(lists: pd.Series) -> tuple[str, ...]:
    """The codes at hand of the rows with those `case_codes`, sorted."""
    return tuple(sorted(code for codes in lists for code in codes))


def of_individuals(each: pd.DataFrame) -> Members:
    """The cases of rows of `individuals`, one row a case."""
    return Members(len(each), tuple(sorted(each["case_code"].dropna())))


def cases(rows: pd.DataFrame) -> int:
    """How many cases the rows stand for."""
    return int(rows["weight"].sum())


def animals(rows: pd.DataFrame) -> int:
    """How many animals they are of: a row without a number stands for as many as its cases."""
    return int(rows.loc[rows["animal"].isna(), "weight"].sum()) + int(rows["animal"].nunique())


def individuals(rows: pd.DataFrame) -> pd.DataFrame:
    """
    One row a case, for what cannot be worked out from counts, such as resampling animals.

    `animal` becomes a number from 0, whether or not an animal has several cases. Rows come in the order in which their
    kinds first stand in the tally, and animals are numbered in the order of their cases; so that neither codes nor the
    tally's numbers of animals can move a result. `case_code` is missing where its store is not at hand.
    """
    weight = rows["weight"].to_numpy(int)
    place = np.repeat(np.arange(len(rows)), weight)
    each = rows.drop(columns=[*KEPT])
    kind = pd.factorize(np.array([*map(repr, each.itertuples(index=False, name=None))], dtype=object))[0]
    number = rows["animal"].to_numpy(float, na_value=np.nan)[place]
    alone = np.isnan(number)
    number[alone] = np.flatnonzero(alone) - float(len(place))
    order, animal = in_order(kind[place], number)
    pairs = zip(rows["case_codes"], weight, strict=True)
    codes = np.array([code for given, n in pairs for code in (*given, *[None] * (n - len(given)))], dtype=object)
    each = each.iloc[place[order]].reset_index(drop=True)
    return each.assign(animal=animal, case_code=codes[order])


def in_order(kind: np.ndarray, animal: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """
    The order of rows of those kinds and animals that does not hang on what animals are called; and their animals then.

    Animals are numbered from 0 by the kinds of their rows, lowest first; rows come by kind, then by animal.

    >>> order, animal = in_order(np.array([0, 0, 1, 2]), np.array([7, 5, 5, 7]))
    >>> order.tolist(), animal.tolist()
    ([1, 0, 2, 3], [0, 1, 0, 1])
    """
    rows = pd.DataFrame({"kind": kind, "animal": animal})
    kinds = rows.sort_values("kind").groupby("animal")["kind"].agg(tuple)
    place = {name: number for number, name in enumerate(kinds.sort_values(kind="stable").index)}
    numbers = rows["animal"].map(place).to_numpy(int)
    order = np.lexsort((numbers, kind))
    return order, numbers[order]


def by_animal(rows: pd.DataFrame, column: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """
    Distinct pairs of (cases of an animal with `column` true, its cases), and the number of animals with each.

    A row without an animal's number stands for animals of one case each.
    """
    is_alone = rows["animal"].isna().to_numpy(bool)
    is_yes, weight = rows[column].to_numpy(bool), rows["weight"].to_numpy(int)
    counted = pd.DataFrame({"animal": rows["animal"].to_numpy(object), "yes": is_yes * weight, "n": weight})
    several = counted[~is_alone].groupby("animal").sum()
    yes = np.concatenate((is_yes[is_alone].astype(int), several["yes"].to_numpy(int)))
    of = np.concatenate((np.ones(is_alone.sum(), dtype=int), several["n"].to_numpy(int)))
    number = np.concatenate((weight[is_alone], np.ones(len(several), dtype=int)))
    pairs, place = np.unique(np.column_stack((yes, of)), axis=0, return_inverse=True)
    return pairs[:, 0], pairs[:, 1], np.bincount(place.ravel(), number, minlength=len(pairs)).astype(int)


def reasons(rows: pd.DataFrame) -> tuple[tuple[str, int], ...]:
    """Each reason of the rows with how many cases have it, the commonest first."""
    counted = rows.groupby("reason")["weight"].sum()
    return tuple(sorted(((str(reason), int(n)) for reason, n in counted.items()), key=lambda r: (-r[1], r[0])))
