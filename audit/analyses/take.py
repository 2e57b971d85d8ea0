"""How much of the grafts was alive when take could first be judged, by location and by method."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from audit.analyses.groups import GroupShare, by_group, by_species
from audit.protocol import Protocol
from audit.stats.percent import PercentTake, percent_take
from audit.stats.pooling import PooledShares, pooled_shares
from audit.store import Store

LOCATIONS = ("head_and_neck", "trunk", "upper_limb", "distal_limb", "foot_pad")


@dataclass(frozen=True, slots=True, eq=False)
class TakeAnswer:
    """
    Take at the protocol's day and threshold.

    `values` has a row a graft read: case_code, species, method, method_group, location, read_on_day, viable_pct,
    uncertain_pct, status. `other_thresholds` pairs a threshold with the shares by species. `pooled` holds, for each
    species, the partially pooled shares by location and by method, where there are two levels or more.
    """

    question: str
    threshold_pct: float
    overall: tuple[GroupShare, ...]
    by_location: tuple[GroupShare, ...]
    by_method: tuple[GroupShare, ...]
    by_method_group: tuple[GroupShare, ...]
    every_graft: tuple[GroupShare, ...]
    other_thresholds: tuple[tuple[float, tuple[GroupShare, ...]], ...]
    percent: tuple[tuple[str, PercentTake], ...]
    pooled: tuple[tuple[str, str, PooledShares], ...]
    values: pd.DataFrame


def take(store: Store, protocol: Protocol) -> TakeAnswer:
    """Answer for the cases of the protocol's unit; `every_graft` counts all grafts, clustered by animal."""
    level = protocol.analysis.level
    rows = store.rows("take")
    primary = rows[rows["is_primary"]]
    question = f"take of {protocol.take.threshold_pct:g} % or more"
    by_location = by_group(primary, question, "location", level=level, order=LOCATIONS)
    by_method = by_group(primary, question, "method", level=level)
    read = primary[(primary["status"] != "excluded") & primary["viable_pct"].notna()]
    return TakeAnswer(
        question,
        protocol.take.threshold_pct,
        by_group(primary, question, None, level=level),
        by_location,
        by_method,
        by_group(primary, question, "method_group", level=level),
        _every_graft(store, protocol, question),
        tuple(
            (float(pct), by_group(part, f"take of {pct:g} % or more", None, level=level))
            for pct, part in rows.groupby("threshold_pct")
        ),
        tuple((species, _percent(part, protocol)) for species, part in by_species(read)),
        (*_pooled("location", by_location, level), *_pooled("method", by_method, level)),
        read.reset_index(drop=True),
    )


def _every_graft(store: Store, protocol: Protocol, question: str) -> tuple[GroupShare, ...]:
    everything = protocol.analysis.model_copy(update={"unit": "every_reconstruction"})
    store.bind(protocol.model_copy(update={"analysis": everything}))
    rows = store.rows("take")
    store.bind(protocol)
    return by_group(rows[rows["is_primary"]], question, None, level=protocol.analysis.level)


def _percent(read: pd.DataFrame, protocol: Protocol) -> PercentTake:
    return percent_take(
        read["viable_pct"].to_numpy(float),
        read["uncertain_pct"].fillna(0).to_numpy(float),
        animals=read["animal"].to_numpy(),
        level=protocol.analysis.level,
        generator=np.random.default_rng(protocol.analysis.seed),
    )


def _pooled(what: str, groups: tuple[GroupShare, ...], level: float) -> list[tuple[str, str, PooledShares]]:
    found = []
    for species in dict.fromkeys(group.species for group in groups):
        known = [g for g in groups if g.species == species and g.cases.known]
        if len(known) > 1:
            yes = [len(g.cases.sure_yes) for g in known]
            levels = pooled_shares([g.group for g in known], yes, [g.cases.known for g in known], level=level)
            found.append((species, what, levels))
    return found
