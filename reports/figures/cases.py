"""One line a case: when it was seen, what was seen, between which days it healed, and how it left."""

import pandas as pd
from plotnine import (
    aes,
    facet_grid,
    geom_blank,
    geom_point,
    geom_segment,
    geom_text,
    ggplot,
    guide_legend,
    guides,
    labs,
    scale_fill_manual,
    scale_shape_manual,
    scale_x_continuous,
    scale_y_continuous,
    theme,
)
from plotnine.themes.elements import element_text

from audit.analyses.groups import species_place
from audit.analyses.healing import HealingAnswer
from reports.document import Figure
from reports.drawing.style import COLOURS, INK, UNKNOWN, house_theme
from reports.figures.labels import EXITS, SPECIES, species_order
from reports.wording import count

SEEN = {
    "open": "seen open", "healed": "seen healed", "not_assessable": "could not be judged",
    "not_seen": "reported, not seen",
}  # fmt: skip
LEFT = "left, not healed"
SHAPES = dict(zip((*SEEN.values(), LEFT), ("o", "o", "x", "|", "D"), strict=True))
FILLS = dict(zip((*SEEN.values(), LEFT), ("white", COLOURS[0], "white", "white", COLOURS[1]), strict=True))
BAR = "#9CC3E0"
MOST = 120


def cases_figure(answer: HealingAnswer) -> Figure | None:
    """
    Cases within species in the order of the day by which they had healed, those not seen healed last.

    None beyond MOST cases, which no page holds legibly, and where single cases are not at hand.
    """
    if len(answer.lines) > MOST or answer.lines["case_code"].isna().any():
        return None
    lines = answer.lines.assign(
        right=answer.lines["right_day"].astype(float),
        first=answer.lines["species"].map(species_place),
    ).sort_values(["first", "right", "left_day", "case_code"], na_position="last", kind="stable")
    heads = {name: SPECIES[name] for name in species_order(lines["species"])}
    lines = lines.assign(
        y=[-float(i) for i in range(len(lines))],
        panel=pd.Categorical(lines["species"].map(heads), list(heads.values())),
    )
    place = lines[["case_code", "y", "panel"]]
    horizon = answer.horizon
    points = answer.seen.merge(place, on="case_code").assign(what=lambda frame: frame["what"].map(SEEN))
    later = points.loc[points["day"] > horizon, "case_code"].nunique()
    points = points[points["day"] <= horizon][["panel", "y", "day", "what"]]
    left = lines[~lines["cause"].isin(["healed", "censored"]) & (lines["exit_day"].astype(float) <= horizon)]
    left = left.assign(day=left["exit_day"].astype(float), what=LEFT, text=left["cause"].map(EXITS))
    healed = lines[(lines["cause"] == "healed") & (lines["left_day"] < horizon)]
    healed = healed.assign(to=healed["right"].clip(upper=horizon))
    days = pd.concat([frame[["y", "day"]].astype(float) for frame in (points, left)])
    watched = days.groupby("y", as_index=False).agg(to=("day", "max")).merge(place, on="y")
    layers = (
        (watched, geom_segment(aes(0, "y", xend="to", yend="y"), watched, color=UNKNOWN, size=0.3)),
        (healed, geom_segment(aes("left_day", "y", xend="to", yend="y"), healed, color=BAR, size=2.6)),
        (points, geom_point(aes("day", "y", shape="what", fill="what"), points, color=INK, size=1.7, stroke=0.5)),
        (left, geom_point(aes("day", "y", shape="what", fill="what"), left, color=INK, size=2, stroke=0.5)),
        (left, geom_text(aes("day", "y", label="text"), left, size=7, ha="left", color=INK, nudge_x=horizon * 0.02)),
    )
    plot = (
        ggplot()
        + facet_grid("panel", scales="free_y", space="free_y")
        + geom_blank(aes(0, "y"), lines)
        + [layer for data, layer in layers if len(data)]
        + scale_shape_manual(values=SHAPES, limits=list(SHAPES))
        + scale_fill_manual(values=FILLS, limits=list(FILLS))
        + guides(shape=guide_legend(nrow=1), fill=guide_legend(nrow=1))
        + scale_x_continuous(limits=(0, horizon), expand=(0.02, 0))
        + scale_y_continuous(breaks=list(lines["y"]), labels=list(lines["case_code"]), expand=(0, 0.8), minor_breaks=[])
        + labs(x="Days since surgery", y="", shape="", fill="")
        + house_theme(grid="x")
        + theme(axis_text_y=element_text(size=7, family="DejaVu Sans Mono"), legend_key_width=10)
    )
    ends = lines["cause"].value_counts()
    gone = len(lines) - ends.get("healed", 0) - ends.get("censored", 0)
    return Figure(
        id="healing-cases",
        title="What was seen when, case by case",
        description=f"A line a case: {ends.get('healed', 0):,} seen healed, {ends.get('censored', 0):,} not seen "
        f"healed, {gone:,} left in another way. Points are contacts; a thick bar spans the days between which the "
        "wound healed.",
        caption=f"n = {count(len(lines), 'case')}, in the order of the day by which they were seen healed. Thick bar: "
        "healed at some time between the last examination that saw it open and the first that saw it healed. Contacts "
        f"after day {horizon} are not drawn ({count(later, 'case')}). Every contact shown, nothing estimated.",
        plot=plot,
        height=1.15 + 0.135 * len(lines) + 0.15 * len(heads),
    )
