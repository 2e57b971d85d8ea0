"""How many cases had a complication, by question, and which complications of which grade."""

from dataclasses import replace

import pandas as pd
from plotnine import (
    aes,
    coord_flip,
    facet_grid,
    geom_col,
    geom_text,
    ggplot,
    labs,
    position_stack,
    scale_color_manual,
    scale_fill_manual,
    scale_y_continuous,
)

from audit import codes
from audit.analyses.complications import ComplicationAnswer
from audit.analyses.groups import species_place
from reports.document import Figure
from reports.drawing.style import INK, house_theme
from reports.figures.forest import Mark, Row, forest, forest_height
from reports.figures.labels import SPECIES, k_of_n, label, species_order
from reports.wording import count, join, percent, share

QUESTIONS = {
    "any": "any complication", "other_than_graft_loss": "any other than graft loss",
    "major_or_worse": "major or worse", "catastrophic": "catastrophic", "infection_recipient": "infection, recipient "
    "site",
    "infection_donor": "infection, donor site", "re_operated": "operated again",
    "limb_lost_or_related_death": "limb lost, or related death",
}  # fmt: skip
GRADES = {"minor": "#E4E9ED", "major": "#9AA7B2", "catastrophic": "#2E3B47", "grade not known": "#FFFFFF"}
SHARE_BREAKS, SHARE_LABELS = (0, 0.25, 0.5, 0.75, 1), ("0", "25", "50", "75", "100 %")
BAR_INCHES, LETTER_INCHES = 3.7, 0.062


def complication_shares_figure(answer: ComplicationAnswer) -> Figure | None:
    """Shares of cases by question and species; None without cases."""
    groups_asked = [(question, group) for question, groups in answer.overall for group in groups]
    if not groups_asked:
        return None
    groups_asked.sort(key=lambda pair: species_place(pair[1].species))
    rows = [
        Row(
            SPECIES[group.species], QUESTIONS.get(question, question.replace("_", " ")), k_of_n(group),
            (Mark.of("share", group.share.estimate),) if group.share else (), group.cases.bounds,
        )
        for question, group in groups_asked
    ]  # fmt: skip
    shares = [
        f"{row.panel.lower()}, {row.name}: {share(group.share.estimate) if group.share else 'none known'}"
        for row, (_, group) in zip(rows, groups_asked, strict=True)
    ]
    measured = next((group.share.estimate for _, group in groups_asked if group.share), None)
    asked = sum(group.cases.asked for question, group in groups_asked if question == groups_asked[0][0])
    return Figure(
        id="complication-shares",
        title=f"Cases with a complication by day {answer.by_day}",
        description=f"A row a question within species. {'; '.join(shares)}.".replace(". d", ". D", 1).replace(
            ". c", ". C", 1
        ),
        caption=f"n = {count(asked, 'reconstruction')}; "
        + (f"{percent(measured.level)} intervals, {measured.method}. " if measured else "no interval. ")
        + f"Numbers at the right: cases with it by day {answer.by_day}, of those followed so long; the rest are "
        "unknown. Thin grey line: the share if no unknown case had it, and if every one had. Questions overlap "
        "and do not add up.",
        plot=forest(rows, ["share"], axis="Share of cases", breaks=SHARE_BREAKS, tick_labels=SHARE_LABELS),
        height=forest_height(rows, legend=False),
    )


def complication_kinds_figure(answer: ComplicationAnswer) -> Figure | None:
    """Complications by kind and grade; None where none is on record."""
    kinds = answer.kinds
    if kinds.empty:
        return None
    order = [code.name for code in codes.COMPLICATION if code.name in set(kinds["complication"])]
    panels = [SPECIES[name] for name in species_order(kinds["species"])]
    kinds = kinds.assign(
        panel=pd.Categorical(kinds["species"].map(SPECIES), panels),
        kind=pd.Categorical(
            kinds["complication"].map(lambda name: label("complication", name)),
            [label("complication", name) for name in reversed(order)],
        ),
        grade=pd.Categorical(kinds["grade"].astype(object).fillna("grade not known"), list(GRADES)[::-1]),
    )
    used = [grade for grade in GRADES if (kinds["grade"] == grade).any()]
    longest = int(kinds.groupby(["panel", "kind"], observed=True)["cases"].sum().max())
    room = BAR_INCHES / max(longest, 4)
    kinds = kinds.assign(
        text=[
            f"{row.cases:,} {row.grade}"
            if (len(str(row.grade)) + 4) * LETTER_INCHES < row.cases * room
            else f"{row.cases:,}"
            for row in kinds.itertuples()
        ]
    )
    bars = kinds.drop_duplicates(["panel", "kind"])
    by_species = [
        f"{panel.lower()}: " + join([f"{row.kind} {row.cases:,} {row.grade}" for row in of_panel.itertuples()])
        for panel, of_panel in kinds.groupby("panel", observed=True)
    ]
    full = Figure(
        id="complication-kinds",
        title="Complications by kind and grade",
        description=f"Stacked bars of cases, by complication within species. {'; '.join(by_species)}.",
        caption=f"n = {count(int(kinds['cases'].sum()), 'case')} with a kind and grade of complication; a case stands "
        "once in each kind and grade that it had, at any day. The grade is derived from the treatment that was "
        f"needed. Not counted: {answer.not_counted:,} recorded as expected or as no complication. Counts, "
        "nothing estimated.",
        plot=_bars(kinds, used, longest),
        height=1.15 + 0.25 * len(bars) + 0.1 * len(panels),
    )
    # Short bars hold no words; the legend has them.
    short = replace(full, plot=_bars(kinds.assign(text=kinds["cases"].map("{:,}".format)), used, longest))
    return replace(full, narrow=short, wide=short)


def _bars(kinds: pd.DataFrame, used: list[str], longest: int) -> ggplot:
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 10**4, 10**5) if longest / s <= 8)
    return (
        ggplot(kinds, aes("kind", "cases"))
        + facet_grid("panel", scales="free_y", space="free_y")
        + geom_col(aes(fill="grade"), width=0.7, color=INK, size=0.4)
        + geom_text(
            aes(label="text", color="grade", group="grade"),
            position=position_stack(vjust=0.5),
            size=7.5,
            show_legend=False,
        )
        + scale_fill_manual(values=GRADES, breaks=used, limits=list(GRADES)[::-1])
        + scale_color_manual(values={name: "white" if name == "catastrophic" else INK for name in GRADES})
        + coord_flip()
        + scale_y_continuous(breaks=range(0, longest + step, step), limits=(0, max(longest, 4)), expand=(0, 0.05))
        + labs(x="", y="Cases")
        + house_theme(grid="")
    )
