"""How much of each graft was alive, and the share that took by location and by method."""

from typing import Literal

import pandas as pd
from plotnine import (
    aes,
    facet_grid,
    geom_hline,
    geom_point,
    geom_segment,
    geom_vline,
    ggplot,
    labs,
    scale_color_manual,
    scale_shape_manual,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.groups import GroupShare, species_place
from audit.analyses.take import LOCATIONS, TakeAnswer
from audit.stats.pooling import PooledShares
from reports.document import Figure
from reports.drawing.style import COLOURS, FAINT, INK, UNKNOWN, house_theme
from reports.figures.forest import Mark, Row, forest, forest_height
from reports.figures.labels import SPECIES, k_of_n, label, species_order
from reports.wording import count, number, percent, share

STATUS = {"sure_yes": "graft took", "sure_no": "graft did not take", "cannot_tell": "cannot be told"}
SHARE_BREAKS, SHARE_LABELS = (0, 0.25, 0.5, 0.75, 1), ("0", "25", "50", "75", "100 %")


def every_graft_figure(answer: TakeAnswer) -> Figure | None:
    """How much of every graft was alive, a dot a graft; None where none was read."""
    values = answer.values  # noqa: PD011
    if values.empty:
        return None
    order = {name: i for i, name in enumerate(LOCATIONS)}
    rows = values.assign(
        upper=values["viable_pct"] + values["uncertain_pct"].astype(float).fillna(0),
        species_order=values["species"].map(species_place),
        location_order=values["location"].map(order),
    ).sort_values(["species_order", "location_order", "viable_pct", "upper", "case_code"], kind="stable")
    new_group = (rows[["species", "location"]] != rows[["species", "location"]].shift()).any(axis=1)
    rows = rows.assign(y=-(pd.RangeIndex(len(rows)) + 0.8 * new_group.cumsum()).astype(float))
    heads = {name: SPECIES[name] for name in species_order(rows["species"])}
    rows = rows.assign(
        panel=pd.Categorical(rows["species"].map(heads), list(heads.values())),
        status=pd.Categorical(rows["status"].map(STATUS), list(STATUS.values())),
    )
    groups = rows.groupby(["species", "location"], sort=False)["y"].agg(["mean", "min", "size"]).reset_index()
    groups = groups.assign(panel=pd.Categorical(groups["species"].map(heads), list(heads.values())))
    between = groups[groups.duplicated("species", keep="last")]
    doubtful = rows[rows["upper"] > rows["viable_pct"]]
    plot = (
        ggplot(rows, aes("viable_pct", "y"))
        + facet_grid("panel", scales="free_y", space="free_y")
        + geom_vline(xintercept=answer.threshold_pct, color=UNKNOWN, linetype="dashed", size=0.6)
    )
    if len(between):
        plot += geom_hline(aes(yintercept="min - 0.9"), between, color=FAINT, size=0.5)
    if len(doubtful):
        plot += geom_segment(aes("viable_pct", "y", xend="upper", yend="y"), doubtful, color=UNKNOWN, size=0.8)
    plot = (
        plot
        + geom_point(aes(color="status", shape="status"), size=2.1, fill="white", stroke=0.8)
        + scale_color_manual(values=dict(zip(STATUS.values(), (*COLOURS[:2], INK), strict=True)))
        + scale_shape_manual(values=dict(zip(STATUS.values(), ("o", "^", "x"), strict=True)))
        + scale_x_continuous(limits=(0, 100), breaks=[0, 25, 50, 75, 100], expand=(0.02, 0))
        + scale_y_continuous(
            breaks=list(groups["mean"]),
            labels=[f"{label('location', g.location)}, n = {g.size:,}" for g in groups.itertuples()],
            expand=(0, 0.9),
            minor_breaks=[],
        )
        + labs(x="Part of the graft alive (%)", y="")
        + house_theme(grid="x")
    )
    unread = sum(group.cases.asked for group in answer.overall) - len(rows)
    counts = rows["status"].value_counts()
    first, last = int(rows["read_on_day"].min()), int(rows["read_on_day"].max())
    when = f"on day {first}" if first == last else f"between day {first} and {last}"
    return Figure(
        id="take-every-graft",
        title="Take of every graft that was read",
        description="A dot a graft at the part surely alive, by location within species, a line at "
        f"{number(answer.threshold_pct)} %. "
        + "; ".join(f"{name}: {counts.get(name, 0):,}" for name in STATUS.values()).capitalize()
        + ".",
        caption=f"n = {count(len(rows), 'graft')} read {when}; {unread:,} more asked about "
        "without a reading of viable area. Dot: surely alive; bar: doubtful part, up to all that may live. "
        f"Dashed: the protocol's {number(answer.threshold_pct)} %. Every value shown, nothing estimated.",
        plot=plot,
        height=min(1.25 + 0.13 * len(rows) + 0.13 * len(groups), 9.5),
    )


def take_by_figure(answer: TakeAnswer, what: Literal["location", "method"]) -> Figure | None:
    """Shares that took by location or by method, as counted and partially pooled; None without a free graft."""
    groups = answer.by_location if what == "location" else answer.by_method
    if not groups:
        return None
    pooled = {species: shares for species, by, shares in answer.pooled if by == what}
    kinds = ["as counted", *(["partially pooled"] if pooled else [])]
    rows = [_row(group, what, pooled.get(group.species)) for group in groups]
    measured = next((g.share.estimate for g in groups if g.share), None)
    unknown = sum(len(group.cases.cannot_tell) for group in groups)
    asked = sum(group.cases.asked for group in groups)
    method = f"; {percent(measured.level)} intervals, {measured.method}" if measured else "; no interval"
    if pooled:
        method += f". Pooled: {next(iter(pooled.values())).levels[0].method}, within species"
    return Figure(
        id=f"take-by-{what}",
        title=f"Take by {what}",
        description=f"{answer.question[0].upper()}{answer.question[1:]}, a row a {what} within species: "
        + "; ".join(f"{SPECIES[g.species].lower()}, {label(what, g.group)}: {_told(g)}" for g in groups)
        + ".",
        caption=f"n = {count(asked, 'reconstruction')}, {unknown:,} unknown{method}. Numbers at the right: took, of "
        "those known. Thin grey line: the share if every unknown case had not taken, and if every one had. Rows are "
        "not ranked.",
        plot=forest(rows, kinds, axis="Share that took", breaks=SHARE_BREAKS, tick_labels=SHARE_LABELS),
        height=forest_height(rows),
    )


def _row(group: GroupShare, what: str, pooled: PooledShares | None) -> Row:
    marks = [Mark.of("as counted", group.share.estimate)] if group.share else []
    if pooled is not None:
        marks += [Mark.of("partially pooled", found) for found in pooled.levels if found.group == group.group]
    return Row(SPECIES[group.species], label(what, group.group), k_of_n(group), tuple(marks), group.cases.bounds)


def _told(group: GroupShare) -> str:
    return share(group.share.estimate) if group.share else f"none known, {len(group.cases.cannot_tell):,} unknown"
