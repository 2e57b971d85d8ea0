"""A small invented report that holds one of each part."""

import pandas as pd
from plotnine import aes, geom_point, geom_step, ggplot, labs, scale_y_continuous

from reports.document import Caution, Column, Figure, Ledger, Report, Section, Table
from reports.drawing.style import group_scales, house_theme


def step_figure(identifier: str) -> Figure:
    """Two invented healing curves."""
    days, dogs, cats = [0, 14, 21, 28, 35, 60], [0, 0.1, 0.3, 0.6, 0.8, 0.9], [0, 0, 0.2, 0.5, 0.6, 0.7]
    steps = pd.DataFrame({"day": days * 2, "share": dogs + cats, "group": ["dogs"] * 6 + ["cats"] * 6})
    plot = (
        ggplot(steps, aes("day", "share", color="group", linetype="group", shape="group"))
        + geom_step(size=0.9)
        + geom_point(size=2)
        + group_scales(["dogs", "cats"], ("color", "linetype", "shape"))
        + scale_y_continuous(limits=(0, 1), breaks=[0, 0.25, 0.5, 0.75, 1], labels=["0", "25", "50", "75", "100 %"])
        + labs(x="Days since surgery", y="Grafts healed")
        + house_theme()
    )
    return Figure(
        id=identifier,
        title="Healing since surgery, dogs and cats apart",
        description="Two rising step curves; by day 60 nine in ten dog grafts and seven in ten cat grafts have healed.",
        caption="Invented data: 16 dogs, 10 cats; each step is a visit at which healing was first seen.",
        plot=plot,
    )


def sample_report() -> Report:
    """An invented report with one of each part, hostile text and an empty table among them."""
    codes = tuple(f"a3f9c2e1b0{number:02d}-A1" for number in range(13))
    take = Section(
        id="take",
        title="Take",
        question="Of the free grafts, how many took to at least 75 % on day 10 (seen between day 7 and 14)?",
        sentences=(
            "13 of 18 grafts took for sure (72 to 83 %, 95 % interval 49 to 94 %); 2 cannot be told.",
            "Dogs and cats are counted apart, as their skin does not heal alike.",
        ),
        tables=(
            Table(
                "take-by-species",
                "Take by species",
                (
                    Column("Species"),
                    Column("Grafts", align="right"),
                    Column("Took", align="right"),
                    Column("Cannot be told", align="right"),
                    Column("Share", "%", "right"),
                    Column("95 % interval", "%", "right"),
                ),
                (
                    ("Dogs", "12", "9", "1", "75 to 83", "47 to 96"),
                    ("Cats", "6", "4", "1", "–", "–"),
                    ("<b>Rabbits</b> & others", "0", "0", "0", "–", "–"),
                ),
                ("Fewer than 10 grafts: counts only.", "Interval: Wilson score on either bound."),
                (("", 1), ("Counts", 3), ("Took to 75 % or more", 2)),
            ),
        ),
        ledgers=(
            Ledger(
                "Case codes behind take",
                (
                    ("Took", codes),
                    ("Did not take", ("b71e02c9d4aa-A1",)),
                    ("Cannot be told", ("c0", "c1")),
                    ("Left out", ()),
                ),
            ),
        ),
        remarks=("A graft that was not looked at between day 7 and 14 is not a graft that failed.",),
    )
    healing = Section(
        id="healing",
        title="Healing",
        question="How long until the graft was first seen wholly covered by skin?",
        sentences=("Half of the dogs' grafts had healed by day 26 (95 % interval day 21 to 35).",),
        figures=(step_figure("healing-curve"), step_figure("healing-curve-again")),
        tables=(Table("healing-none", "Flaps healed", (Column("Species"), Column("Flaps", align="right")), ()),),
    )
    return Report(
        title="Skin grafts and flaps: audit of an invented practice",
        subtitle="Surgery from January 2023 to December 2024, seen until 30 June 2025. All data are invented.",
        cautions=(
            Caution(
                "Not clinical advice.",
                "It describes past records; treatment is for the responsible veterinary surgeon.",
            ),
            Caution("Small numbers, unlike cases.", "This is no comparison of methods or of people."),
            Caution("A rule of thumb is not a standard.", "Where one is shown, the words say so."),
        ),
        headlines=("13 of 18 free grafts took; 2 cannot be told.", "Half of the dogs' grafts had healed by day 26."),
        sections=(take, healing),
        definitions=(
            Section(
                id="definitions",
                title="Definitions",
                question="What do the words mean here?",
                sentences=("Take: living graft of at least 75 %.",),
            ),
        ),
        provenance=(
            ("Protocol", "version 1, frozen on 2 January 2023"),
            ("Protocol hash", "9f86d081884c7d659a2feaa0c55ad015" * 2),
            ("Seed", "20240229"),
        ),
    )
