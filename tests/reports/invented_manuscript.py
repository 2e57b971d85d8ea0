"""A small invented manuscript that holds one of each part, and the same after its data changed."""

import io
from typing import Literal

from invented_report import step_figure
from PIL import Image

from reports.document import Column, Table
from reports.prose import Ask, Cite, Fact, Heading, Manuscript, PageBreak, Paragraph, Reference, See

WILSON = Reference(
    "wilson-1927",
    "Wilson 1927",
    "Wilson EB. Probable inference, the law of succession, and statistical inference. "
    "J Am Stat Assoc. 1927;22:209-212.",
)
KAPLAN = Reference(
    "kaplan-1958",
    "Kaplan and Meier 1958",
    "Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat Assoc. 1958;53:457-481.",
)
TITLE = "Take of free skin grafts in dogs and cats: an invented case series"


def picture(shade: int = 200) -> bytes:
    """A plain grey PNG of 650 by 350 pixels."""
    file = io.BytesIO()
    Image.new("L", (650, 350), shade).save(file, "PNG")
    return file.getvalue()


def sample_pictures(shade: int = 200) -> dict[str, bytes]:
    """The picture of the one figure."""
    return {"healing-curve": picture(shade)}


def take_table(dogs: str = "9") -> Table:
    """A table with spanning heads, notes and hostile text."""
    return Table(
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
            ("Dogs", "12", dogs, "1", "75 to 83", "47 to 96"),
            ("Cats", "6", "4", "1", "–", "–"),
            ("<b>Rabbits</b> & others [/red]", "=1+1", "0", "0", "–", "−3.5"),
        ),
        ("Fewer than 10 grafts: counts only.", "Interval: Wilson score on either bound."),
        (("", 1), ("Counts", 3), ("Took to 75 % or more", 2)),
    )


def wide_table(last: str = "60") -> Table:
    """A table of twelve columns, too wide for an upright page."""
    names = ("Site", "Dressing", "Meshed", "Recipient bed", "Immobilised", "First look", "Second look", "Third look")
    columns = tuple(Column(name) for name in names)
    columns += tuple(Column(name, "days", "right") for name in ("Drain", "Stay", "Healed", "Followed"))
    row = ("Forelimb", "Non-adherent", "Yes, 3 to 1", "Granulating", "Splint", "Pink", "Pink, moist", "Take complete")
    return Table(
        "case-by-case",
        "Grafts one by one",
        columns,
        ((*row, "2", "4", "26", last), (*row, "3", "5", "31", "90")),
        ("Looks are those of the first, second and third change of dressing.",),
    )


def plain_table() -> Table:
    """A table that came only with the later data."""
    return Table(
        "losses",
        "Animals lost from sight",
        (Column("Reason"), Column("Animals", align="right")),
        (("Moved away", "2"), ("Not known", "1")),
    )


def sample_manuscript(spelling: Literal["british", "american"] = "british") -> Manuscript:
    """An invented paper: two tables, one of them wide, one figure, facts, a place to fill, references."""
    return Manuscript(TITLE, _blocks(_first_results(), take_table(), wide_table(), ()), (WILSON, KAPLAN), spelling)


def later_manuscript() -> Manuscript:
    """
    The same paper from later data: other numbers for take, none for seroma, a sentence and a table more.

    Unchanged are the facts `series`, `healing.median` and `cats`, and the wide table.
    """
    took = Fact("take.all", "15 of 20 grafts took (75 %, 95 % interval 53 to 89 %)", "take.all")
    lost = Fact("lost.all", "3 animals", "followup.lost")
    results = (
        Paragraph((took, " to at least 75 % on day 10, as ", See("take-by-species"), " shows.")),
        Paragraph((Fact("cats", "Of 6 cats' grafts, 4 took.", "take.cats"),)),
    )
    new = (Paragraph((lost, " were lost from sight (", See("losses"), ").")), plain_table())
    return Manuscript(TITLE, _blocks(results, take_table("11"), wide_table(), new), (WILSON, KAPLAN))


def _first_results() -> tuple[Paragraph, ...]:
    took = Fact("take.all", "13 of 18 grafts took (72 %, 95 % interval 49 to 88 %)", "take.all")
    return (
        Paragraph((took, " to at least 75 % on day 10, as ", See("take-by-species"), " shows.")),
        Paragraph((Fact("cats", "Of 6 cats' grafts, 4 took.", "take.cats"),)),
        Paragraph(("Seroma was seen in ", Fact("seroma", "2 of 18 grafts", "complications.seroma"), ".")),
    )


def _blocks(results: tuple[Paragraph, ...], take: Table, wide: Table, new: tuple) -> tuple:
    series = Fact("series", "18 grafts in 16 animals", "series.grafts")
    median = Fact("healing.median", "day 26 (95 % interval day 21 to 35)", "healing.median")
    return (
        Paragraph((TITLE,), "title"),
        Paragraph((Ask("names and addresses of the authors"),)),
        PageBreak(),
        Heading("Methods"),
        Heading("Animals", 2),
        Paragraph(("The invented series holds ", series, ". ", Ask("who gave consent, and how"))),
        Heading("Statistics", 2),
        Paragraph(("Intervals are score intervals (", Cite("wilson-1927"), "). All data are invented.")),
        Paragraph(("Take: living graft of at least 75 % on day 10.",), "item"),
        Paragraph(("Healed: wholly covered by skin, as first seen.",), "item"),
        Heading("Results"),
        *results,
        take,
        Paragraph(
            (
                "Half of the grafts had healed by ",
                median,
                ", as ",
                See("healing-curve"),
                " and ",
                See("case-by-case"),
                " show; the curve is a product-limit estimate (",
                Cite("kaplan-1958"),
                ").",
            )
        ),
        step_figure("healing-curve"),
        wide,
        *new,
        Heading("Discussion"),
        Paragraph((Ask("what the findings mean; this is a description, not a comparison of methods"),)),
        Heading("References"),
        Paragraph((WILSON.full,), "reference"),
        Paragraph((KAPLAN.full,), "reference"),
    )
