"""How much of the grafts was alive when take could first be judged, by location and by method."""

from dataclasses import dataclass
from math import ceil

import numpy as np
import pandas as pd

from audit.analyses.groups import GroupShare, by_group, by_species
from audit.analyses.species_difference import SpeciesDifference, species_difference
from audit.analyses.tally import individuals, members
from audit.cases import Cases
from audit.codes import REGION_GROUPS
from audit.protocol import Protocol
from audit.results import Members, Span
from audit.stats.percent import PercentTake, percent_take
from audit.stats.pooling import PooledShares, pooled_shares
from audit.stats.proportions import funnel_limits

LOCATIONS = tuple(group.name for group in REGION_GROUPS)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChanceLimits:
    """
    Where the share of one group would lie by chance, if it took as its species does as a whole.

    `usual` holds it in at least 95 and `outer` in at least 99.8 of 100 such audits, both ends included; fractions of
    the `known` cases of the group.
    """

    species: str
    group: str
    share: float
    known: int
    overall: float
    usual: Span
    outer: Span

    @property
    def is_outside(self) -> bool:
        """True where the share lies outside the usual limits."""
        return not self.usual[0] - 1e-9 <= self.share <= self.usual[1] + 1e-9


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TakeAnswer:
    """
    Take at the protocol's day and threshold.

    `values` has a row a graft read: case_code, species, method, method_group, location, read_on_day, viable_pct,
    uncertain_pct, loss_depth, status. `other_thresholds` pairs a threshold with the shares by species. `pooled` holds,
    for each species, the partially pooled shares by location and by method, where there are two levels or more.
    `chance` pairs "location" or "method" with the limits of its groups; a species that took throughout, or never, has
    none.
    `surface_only` has, for each species, the grafts that took and had lost no more than their epidermis, and all that
    took.
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
    chance: tuple[tuple[str, ChanceLimits], ...] = ()
    species: SpeciesDifference | None = None
    surface_only: tuple[tuple[str, Members, Members], ...] = ()


def take(cases: Cases) -> TakeAnswer:
    """Answer for the cases of the protocol's unit; `every_graft` counts all grafts, clustered by animal."""
    protocol, level = cases.protocol, cases.protocol.analysis.level
    rows = cases.rows("take_tally")
    primary = rows[rows["is_primary"]]
    question = _question(protocol.take.threshold_pct)
    by_location = by_group(primary, question, "location", level=level, order=LOCATIONS)
    by_method = by_group(primary, question, "method", level=level)
    read = individuals(primary[(primary["status"] != "excluded") & primary["viable_pct"].notna()])
    overall = by_group(primary, question, None, level=level)
    return TakeAnswer(
        question=question,
        threshold_pct=protocol.take.threshold_pct,
        overall=overall,
        by_location=by_location,
        by_method=by_method,
        by_method_group=by_group(primary, question, "method_group", level=level),
        every_graft=_every_graft(primary, question, level),
        other_thresholds=tuple(
            (float(pct), by_group(part, _question(float(pct)), None, level=level))
            for pct, part in rows.groupby("threshold_pct")
        ),
        percent=tuple((species, _percent(part, protocol)) for species, part in by_species(read)),
        pooled=(*_pooled("location", by_location, level), *_pooled("method", by_method, level)),
        values=read,
        chance=(*_chance("location", by_location, overall), *_chance("method", by_method, overall)),
        species=species_difference(primary, overall, protocol),
        surface_only=tuple(
            (group.species, _surface_only(primary, group.species), group.cases.sure_yes) for group in overall
        ),
    )


def _question(pct: float) -> str:
    return f"take of {pct:g} %{' or more' if pct < 100 else ''}"


def _surface_only(rows: pd.DataFrame, species: str) -> Members:
    """A graft that lost its epidermis alone took: told apart, as some would call it lost."""
    took = rows[(rows["species"] == species) & (rows["status"] == "sure_yes")]
    return members(took[took["loss_depth"] == "epidermal_only"])


def _chance(
    what: str, groups: tuple[GroupShare, ...], overall: tuple[GroupShare, ...]
) -> list[tuple[str, ChanceLimits]]:
    found = []
    for whole in overall:
        share = whole.share.estimate.value if whole.share else None
        if whole.share is None or share is None or not 0 < share < 1:
            continue
        for group in groups:
            known = group.cases.known
            if group.species != whole.species or not known or known == whole.cases.known or group.share is None:
                continue
            # Grafts of one animal are alike, so that chance leaves more room than so many animals would.
            independent = max(1, int(known / whole.share.design_effect))
            usual, outer = (_whole_counts(share, independent, level) for level in (0.95, 0.998))
            own = len(group.cases.sure_yes) / known
            found.append(
                (
                    what,
                    ChanceLimits(
                        species=group.species,
                        group=group.group,
                        share=own,
                        known=known,
                        overall=share,
                        usual=usual,
                        outer=outer,
                    ),
                )
            )
    return found


def _whole_counts(share: float, cases: int, level: float) -> Span:
    """Limits are interpolated for drawing; the next count above each is the exact one."""
    low, high = (ceil(round(float(end[0]) * cases, 9)) / cases for end in funnel_limits(share, [cases], level=level))
    return low, high


def _every_graft(primary: pd.DataFrame, question: str, level: float) -> tuple[GroupShare, ...]:
    each = primary.assign(status=primary["status_each"], reason=primary["reason_each"])
    return by_group(each, question, None, level=level)


def _percent(read: pd.DataFrame, protocol: Protocol) -> PercentTake:
    return percent_take(
        read["viable_pct"].to_numpy(float),
        read["uncertain_pct"].fillna(0).to_numpy(float),
        animal=read["animal"].to_numpy(),
        level=protocol.analysis.level,
        rng=np.random.default_rng(protocol.analysis.seed),
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
