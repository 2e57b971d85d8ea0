"""When the sutures of donor sites came out, beside the days expected."""

import pandas as pd
from plotnine import (
    aes,
    annotate,
    facet_wrap,
    geom_point,
    ggplot,
    labs,
    scale_color_manual,
    scale_shape_manual,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.donor import DonorAnswer
from reports.document import Figure
from reports.drawing.style import COLOURS, FAINT, house_theme
from reports.figures.labels import SPECIES, k_of_n, species_order
from reports.wording import count, share

STATUS = {"sure_yes": "as expected", "sure_no": "earlier or later"}


def donor_figure(answer: DonorAnswer) -> Figure | None:
    """A dot a donor site on the day its sutures came out, a panel a species; none where no day is known."""
    days = answer.sites[answer.sites["suture_out_day"].notna() & answer.sites["status"].isin(list(STATUS))]
    if days.empty:
        return None
    days = days.sort_values(["species", "suture_out_day", "case_code", "donor"], kind="stable")
    groups = {group.species: group for group in answer.sutures}
    heads = {name: f"{SPECIES[name]}: {k_of_n(groups[name])}" for name in species_order(days["species"])}
    days = days.assign(
        day=days["suture_out_day"].astype(float),
        y=days.groupby(["species", "suture_out_day"]).cumcount() + 0.5,
        panel=pd.Categorical(days["species"].map(heads), list(heads.values())),
        status=pd.Categorical(days["status"].map(STATUS), list(STATUS.values())),
    )
    first, last = answer.sutures_from, answer.sutures_to
    tallest = int(days["y"].max() + 0.5)
    reach = (min(first, days["day"].min()) - 1, max(last, days["day"].max()) + 1)
    plot = (
        ggplot(days, aes("day", "y"))
        + facet_wrap("panel", ncol=1)
        + annotate("rect", xmin=first - 0.5, xmax=last + 0.5, ymin=0, ymax=tallest + 0.3, fill=FAINT, alpha=0.55)
        + geom_point(aes(color="status", shape="status"), size=2.6, fill="white", stroke=0.9)
        + scale_color_manual(values=dict(zip(STATUS.values(), COLOURS, strict=False)), limits=list(STATUS.values()))
        + scale_shape_manual(values=dict(zip(STATUS.values(), ("o", "^"), strict=True)), limits=list(STATUS.values()))
        + scale_x_continuous(
            limits=reach, breaks=range(int(reach[0]), int(reach[1]) + 1, 1 + int(reach[1] - reach[0]) // 20)
        )
        + scale_y_continuous(limits=(0, tallest + 0.3), breaks=[], expand=(0, 0))
        + labs(x="Day on which the sutures came out", y="")
        + house_theme(grid="")
    )
    unknown = sum(len(group.cases.cannot_tell) for group in answer.sutures)
    none_to_remove = int((answer.sites["status"] == "excluded").sum())
    shares = [
        f"{SPECIES[g.species].lower()}: {share(g.share.estimate) if g.share else 'none known'}" for g in answer.sutures
    ]
    middle = days["suture_out_day"].agg(["min", "max"])
    return Figure(
        id="donor-sutures",
        title="When donor sutures came out",
        description=f"Dots from day {middle['min']:.0f} to {middle['max']:.0f}, day {first} to {last} shaded. Out "
        "within these days, " + "; ".join(shares) + ".",
        caption=f"n = {count(len(days), 'donor site')} with a known day; {unknown:,} unknown; {none_to_remove:,} with "
        f"none to remove, not asked about. Shaded: day {first} to {last}, the protocol's. Numbers in the heads: "
        "within these days, of those known. Every value shown, nothing estimated.",
        plot=plot,
        height=0.95 + len(heads) * (0.4 + 0.15 * max(tallest, 3)),
    )
