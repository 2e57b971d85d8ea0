"""Which methods were used where: the support that any comparison would need."""

import pandas as pd
from plotnine import (
    aes,
    facet_wrap,
    geom_text,
    geom_tile,
    ggplot,
    labs,
    scale_fill_gradient,
    scale_x_discrete,
    scale_y_discrete,
    theme,
)
from plotnine.themes.elements import element_blank

from audit import codes
from audit.analyses.case_mix import CaseMixAnswer
from audit.analyses.take import LOCATIONS
from reports.document import Figure
from reports.drawing.style import FAINT, INK, house_theme
from reports.figures.labels import SPECIES, label, species_order, wrapped
from reports.wording import count, join


def case_mix_figure(answer: CaseMixAnswer) -> Figure | None:
    """Number of cases in each method and location, a panel a species; none without cases."""
    support = answer.support
    if support.empty:
        return None
    used = set(support["method"])
    methods = [code.name for code in codes.METHOD if code.name in used]
    heads = {name: f"{SPECIES[name]}, n = {cases:,}" for name, cases, _ in answer.totals}
    panels = [heads[name] for name in species_order(support["species"])]
    grid = pd.MultiIndex.from_product([panels, methods, LOCATIONS], names=["panel", "method", "location"])
    cells = (
        support.assign(panel=support["species"].map(heads))
        .set_index(["panel", "method", "location"])["cases"]
        .reindex(grid, fill_value=0)
        .reset_index()
    )
    cells = cells.assign(
        panel=pd.Categorical(cells["panel"], panels),
        row=pd.Categorical(
            cells["method"].map(lambda m: label("method", m)), [label("method", m) for m in methods[::-1]]
        ),
        column=pd.Categorical(
            cells["location"].map(lambda name: wrapped(label("location", name), 6)),
            [wrapped(label("location", name), 6) for name in LOCATIONS],
        ),
        text=cells["cases"].map(lambda n: f"{n:,}" if n else "·"),
    )
    plot = (
        ggplot(cells, aes("column", "row"))
        + facet_wrap("panel", ncol=2)
        + geom_tile(aes(fill="cases"), color=FAINT, size=0.5)
        + geom_text(aes(label="text"), size=8, color=INK)
        + scale_fill_gradient(low="#FFFFFF", high="#8FBBD9", limits=(0, int(cells["cases"].max())))
        + scale_x_discrete(expand=(0, 0))
        + scale_y_discrete(expand=(0, 0))
        + labs(x="", y="")
        + house_theme(legend="none", grid="")
        + theme(axis_ticks_major=element_blank(), axis_line_x=element_blank())
    )
    empty = int((cells["cases"] == 0).sum())
    by_panel = []
    for panel in panels:
        of_panel = support[support["species"].map(heads) == panel].sort_values("cases", ascending=False, kind="stable")
        top = [
            f"{label('method', r.method)} at {label('location', r.location)} {r.cases:,}"
            for r in of_panel[:3].itertuples()
        ]
        by_panel.append(f"{panel}: most often {join(top)}")
    total = int(support["cases"].sum())
    return Figure(
        id="support",
        title="Methods by location",
        description=f"Grid of {count(len(methods), 'method')} by {count(len(LOCATIONS), 'location')}, "
        f"{count(empty, 'cell')} without a case. {'. '.join(by_panel)}.",
        caption=f"n = {count(total, 'operation')}. Number of operations in each cell; a dot is none. Where a cell is "
        "empty there is nothing to compare. Counts, nothing estimated.",
        plot=plot,
        height=1.15 + 0.25 * len(methods),
    )
