"""Shares of groups standardised to one case mix, where every group has cases in every cell of the mix."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri, stdtrit
from statsmodels.stats.proportion import proportion_confint

from audit.errors import AuditError, TooFewData
from audit.results import Estimate, Tidy, tidy
from audit.stats import checked
from audit.stats.covariates import FEWEST_EVENTS
from audit.stats.proportions import clustered_share, newcombe_difference

if TYPE_CHECKING:
    import pandas as pd

NOT_A_COMPARISON = (
    "not a comparison of methods: each case got the method its surgeon chose for it, and standardising removes only "
    "the differences that the cells record"
)

Cell = tuple[str, ...]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Support:
    """Animals of each group in each cell: `animals[i][j]` for `groups[i]`, `cells[j]`."""

    groups: tuple[str, ...]
    cells: tuple[Cell, ...]
    animals: tuple[tuple[int, ...], ...]

    def thin(self, fewest: int) -> tuple[tuple[str, Cell, int], ...]:
        """Every group and cell with fewer than `fewest` animals, and how many it has."""
        return tuple(
            (group, cell, count)
            for group, row in zip(self.groups, self.animals, strict=True)
            for cell, count in zip(self.cells, row, strict=True)
            if count < fewest
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Standardised(Tidy):
    """
    Shares by group as they are (`crude`) and over one case mix (`shares`), and differences of the latter.

    `mix` pairs each cell with its weight, adding up to 1; `differences` has each pair of groups, first minus second.
    `note` belongs beside every figure made of them.
    """

    groups: tuple[str, ...]
    crude: tuple[Estimate, ...]
    shares: tuple[Estimate, ...]
    differences: tuple[Estimate, ...]
    mix: tuple[tuple[Cell, float], ...]
    support: Support
    note: str

    @property
    def frame(self) -> "pd.DataFrame":
        """One row an estimate, shares then differences: term, estimate, low, high, level, method, n, animals."""
        return tidy(self.shares + self.differences)

    def _repr_html_(self) -> str:
        return f"{self.frame.to_html(index=False)}<p>{self.note}</p>"


def standardised_shares(
    outcome: ArrayLike,
    group: ArrayLike,
    cells: Sequence[ArrayLike],
    *,
    mix: Mapping[Cell, float] | None = None,
    animal: ArrayLike | None = None,
    level: float = 0.95,
    fewest: int = FEWEST_EVENTS,
) -> Standardised:
    """
    Share of cases with the outcome that each group would show over one case mix (g-computation over cells).

    `outcome` is 0 or 1, one entry a case; `cells` has one column a factor; `mix` gives weights to cells (all cases
    together where left out) and counts as fixed; `animal` names the animal of each case. Each group's share is the
    weighted mean of its shares by cell. Wilson's interval on the effective number p (1 - p) / variance, with a t
    quantile; the variance is between animals within cells, and never below that of as many independent cases.
    Differences by square-and-add.
    Raises TooFewData, naming them, where a group has no case in a cell of the mix, or under `fewest` animals (each
    cell of each group has its own share to estimate); EmptyGroup without cases; AuditError for an outcome that is not
    0 or 1 or a mix with a cell that no case is in.

    Keiding N, Clayton D. Stat Sci 2014;29:529-558 (standardisation); Robins J. Math Model 1986;7:1393-1512
    (g-computation).

    >>> group, size = ["mesh"] * 20 + ["sheet"] * 20, ["small"] * 5 + ["large"] * 15 + ["small"] * 15 + ["large"] * 5
    >>> took = [1] * 5 + [1] * 9 + [0] * 6 + [1] * 14 + [0] + [1] * 2 + [0] * 3
    >>> found = standardised_shares(took, group, [size])
    >>> [round(share.value, 2) for share in found.crude], [round(share.value, 2) for share in found.shares]
    ([0.7, 0.8], [0.8, 0.67])
    """
    checked.level(level)
    rows = _rows(outcome, group, cells, animal)
    counts = _support(rows)
    weights = _weights(rows, counts, mix)
    used = [j for j, weight in enumerate(weights) if weight > 0]
    _refuse_thin(counts, used, fewest)
    crude, shares = [], []
    for g, name in enumerate(counts.groups):
        in_group = rows.group == g
        who, took, cases = rows.owner[in_group], rows.outcome[in_group], rows.cell[in_group]
        animals = np.unique(who, return_inverse=True)[1]
        by_animal = np.bincount(animals, took), np.bincount(animals)
        crude.append(replace(clustered_share(*by_animal, level=level).estimate, group=name))
        shares.append(_share(name, took, cases, animals, weights, np.array(counts.animals[g]), level))
    differences = tuple(
        replace(
            newcombe_difference(shares[a], shares[b], quantity="difference of standardised shares"),
            group=f"{counts.groups[a]} minus {counts.groups[b]}",
        )
        for a, b in combinations(range(len(shares)), 2)
    )
    return Standardised(
        groups=counts.groups,
        crude=tuple(crude),
        shares=tuple(shares),
        differences=differences,
        mix=tuple((counts.cells[j], float(weights[j])) for j in used),
        support=counts,
        note=NOT_A_COMPARISON,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    outcome: Array
    group: NDArray[np.int64]
    groups: tuple[str, ...]
    cell: NDArray[np.int64]
    cells: tuple[Cell, ...]
    owner: NDArray[np.int64]


def _rows(outcome: ArrayLike, group: ArrayLike, cells: Sequence[ArrayLike], animal: ArrayLike | None) -> _Rows:
    y, label = checked.truths(outcome, "outcome"), checked.names(group, "group").astype(str)
    columns = [checked.names(column, "cell").astype(str) for column in cells]
    if not columns:
        raise AuditError("there is no column of cells", "name a factor to standardise over")
    for column in columns:
        checked.same_length(outcome=y, group=label, cells=column)
    owner = checked.animals(animal, len(y))
    checked.not_empty(len(y), ("there are no cases", "widen the dates or leave the question out"))
    names, member = np.unique(label, return_inverse=True)
    kinds, cell = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
    return _Rows(y, member, tuple(names.tolist()), cell.ravel(), tuple(map(tuple, kinds.tolist())), owner)


def _support(rows: _Rows) -> Support:
    places = np.unique(np.column_stack((rows.group, rows.cell, rows.owner)), axis=0)
    counts = np.zeros((len(rows.groups), len(rows.cells)), dtype=int)
    np.add.at(counts, (places[:, 0], places[:, 1]), 1)
    return Support(rows.groups, rows.cells, tuple(map(tuple, counts.tolist())))


def _weights(rows: _Rows, counts: Support, mix: Mapping[Cell, float] | None) -> Array:
    if mix is None:
        return np.bincount(rows.cell) / len(rows.cell)
    strange = sorted(set(mix) - set(counts.cells))
    if strange:
        raise AuditError(f"no case is in {_named(strange[0])}, which the mix asks for", "leave it out of the mix")
    weights = np.array([float(mix.get(cell, 0.0)) for cell in counts.cells])
    if not (weights.min() >= 0 and np.isfinite(weights).all() and weights.sum() > 0):
        raise AuditError("the weights of a mix are 0 or above, and not all 0", "mend the mix")
    return weights / weights.sum()


def _refuse_thin(counts: Support, used: list[int], fewest: int) -> None:
    asked = {counts.cells[j] for j in used}
    thin = [entry for entry in counts.thin(max(fewest, 1)) if entry[1] in asked]
    for empty, fault in ((True, "there is no case of"), (False, f"fewer than {fewest} animals:")):
        places = [f"{group} in {_named(cell)}" for group, cell, count in thin if (count == 0) == empty]
        if places:
            raise TooFewData(
                f"{fault} {'; '.join(places)}",
                "a share over one case mix needs every group in every cell: join cells, leave groups out, or describe "
                "the groups side by side",
            )


def _named(cell: Cell) -> str:
    return " / ".join(cell)


def _share(
    name: str,
    took: Array,
    cell: NDArray[np.int64],
    animals: NDArray[np.int64],
    weights: Array,
    animals_by_cell: NDArray[np.int64],
    level: float,
) -> Estimate:
    size = np.bincount(cell, minlength=len(weights))
    per_case = np.divide(weights, size, out=np.zeros(len(weights)), where=weights > 0)
    by_cell = np.bincount(cell, took, minlength=len(weights)) / np.maximum(size, 1)
    share = min(float(weights @ by_cell), 1.0)
    used, m = int((weights > 0).sum()), int(animals.max()) + 1
    if m <= used:
        raise TooFewData(f"{name}: {m} animals cannot bear a share in each of {used} cells", "join cells")
    influence = np.bincount(animals, per_case[cell] * (took - by_cell[cell]))
    # Within a cell the animals vary around their own mean, which takes a degree of freedom from each cell.
    between = float(influence @ influence) * m / (m - used)
    # The floor takes cases as independent; in a cell all alike, animals, with one of each outcome added.
    alike = (by_cell == 0) | (by_cell == 1)
    near = np.where(alike, (by_cell * size + 1) / (size + 2), by_cell)
    held = np.maximum(np.where(alike, animals_by_cell, size), 1)
    floor, middle = float((weights**2 * near * (1 - near) / held).sum()), float(weights @ near)
    effective = middle * (1 - middle) / max(between, floor)
    shrink = float(ndtri((1 + level) / 2) / stdtrit(m - used, (1 + level) / 2)) ** 2
    effective *= shrink if 0 < share < 1 else 1.0
    low, high = proportion_confint(share * effective, effective, alpha=1 - level, method="wilson")
    return Estimate(
        quantity="standardised share",
        group=name,
        value=share,
        value_to=share,
        low=min(float(low), share),
        high=max(float(high), share),
        level=level,
        method="standardised over cells, Wilson on the effective number of animals, t quantile",
        unit="reconstructions",
        numerator=round(float(took[weights[cell] > 0].sum())),
        denominator=int((weights[cell] > 0).sum()),
        animals=m,
        notes=(NOT_A_COMPARISON,),
    )
