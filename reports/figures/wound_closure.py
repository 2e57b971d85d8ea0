"""The open area of every case, visit by visit."""

import pandas as pd
from plotnine import (
    aes,
    facet_grid,
    geom_line,
    geom_point,
    ggplot,
    labs,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.wound_closure import WoundClosureAnswer
from reports.document import Figure
from reports.drawing.style import COLOURS, house_theme
from reports.figures.labels import GROUPS, SPECIES, species_order, wrapped
from reports.wording import count

LONGEST = 63


def wound_closure_figure(answer: WoundClosureAnswer) -> Figure | None:
    """A line a case: the share of its first measured open area that was still open, by day."""
    first = answer.cases.set_index("case")[["first_day", "first_area"]]
    examinations = answer.examinations[answer.examinations["case"].isin(first.index)].join(first, on="case")
    examinations = examinations[(examinations["day"] >= examinations["first_day"]) & (examinations["day"] <= LONGEST)]
    if examinations.empty:
        return None
    shares = 100 * examinations["open_area_cm2"] / examinations["first_area"]
    heads = {name: SPECIES[name] for name in species_order(examinations["species"])}
    groups = [name for name in GROUPS if (examinations["method_group"] == name).any()]
    names = {name: wrapped(GROUPS[name], 10) for name in groups}
    frame = pd.DataFrame(
        {
            "case": examinations["case"].astype(str),
            "day": examinations["day"].astype(float),
            "open": shares.clip(upper=200).astype(float),
            "species": pd.Categorical(examinations["species"].map(heads), list(heads.values())),
            "group": pd.Categorical(examinations["method_group"].map(names), [names[name] for name in groups]),
        }
    )
    cases = frame["case"].nunique()
    grown = int((shares > 200).sum())
    plot = (
        ggplot(frame, aes("day", "open", group="case"))
        + facet_grid("group", "species")
        + geom_line(color=COLOURS[0], size=0.4, alpha=0.6)
        + geom_point(color=COLOURS[0], size=0.6, alpha=0.6)
        + scale_x_continuous(breaks=list(range(0, LONGEST + 1, 21)), limits=(0, LONGEST))
        + scale_y_continuous(breaks=[0, 50, 100], limits=(0, max(105.0, float(frame["open"].max()))))
        + labs(x="Days since surgery", y="Open area (% of the first measured)")
        + house_theme(grid="xy")
    )
    return Figure(
        id="open-area",
        title="Open area, case by case",
        description=f"A line a case, {count(cases, 'case')}, by method group and species: the open area as a "
        "percentage of the first that was measured, falling to zero where the wound was seen closed.",
        caption=f"n = {count(cases, 'case')} measured open and again later, to day {LONGEST}. Every measurement shown, "
        f"nothing estimated.{f' Drawn at 200 % where larger ({grown}).' if grown else ''}",
        plot=plot,
        height=1.0 + 1.0 * len(groups),
    )
