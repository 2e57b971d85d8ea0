"""How hair, looks and use were graded in each method group, and how two groups compare."""

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
    theme,
)
from plotnine.themes.elements import element_text

from audit.analyses.groups import species_place
from audit.analyses.scores import ItemScores, ScoreAnswer
from reports.document import Figure
from reports.drawing.style import INK, house_theme
from reports.figures.forest import Mark, Row, forest, forest_height
from reports.figures.labels import SPECIES, label, species_order
from reports.wording import amount, count, percent

# From pale to dark: the step in lightness can be told in grey print.
SHADES = {4: ("#F4F7F9", "#BFD3E0", "#6F9DBB", "#1F4E6E"), 5: ("#F4F7F9", "#CBDBE6", "#93B7CE", "#4F86A8", "#1F4E6E")}
HAIR = ("0, none", "1, lone hairs", "2, under half", "3, half or more", "4, as around")
LOOK = ("0, as neighbour", "1", "2", "3, worst")
USE = ("0, not used", "1", "2", "3, sound")
COMPARED = ("hair", "use")


def hair_figure(answer: ScoreAnswer) -> Figure | None:
    """Grades of hair by method group; None where none was graded."""
    hair = [item for item in answer.items if item.item == "hair"]
    return _grades("hair", "Hair cover by method", hair, HAIR, answer)


def look_figure(answer: ScoreAnswer) -> Figure | None:
    """Grades of the look items by method group; None where none was graded."""
    look = [item for item in answer.items if item.item.startswith("look_")]
    return _grades("look", "Looks by method", look, LOOK, answer)


def limb_use_figure(answer: ScoreAnswer) -> Figure | None:
    """Grades of limb use by method group; None where none was graded."""
    use = [item for item in answer.items if item.item == "use"]
    return _grades("use", "Limb use by method", use, USE, answer)


def _grades(
    identifier: str, title: str, items: list[ItemScores], words: tuple[str, ...], answer: ScoreAnswer
) -> Figure | None:
    if not items:
        return None
    names = list(dict.fromkeys(item.item for item in items))
    grades = list(range(items[0].grades))
    frame = pd.concat([item.counts.assign(item=item.item, species=item.species) for item in items])
    bar = ["item", "species", "method_group"]
    totals = frame.groupby(bar, as_index=False)["cases"].sum()
    frame = frame.assign(share=frame["cases"] / frame.groupby(bar)["cases"].transform("sum"))
    groups = [label("method_group", name) for name in sorted(set(frame["method_group"]))]
    panels = [SPECIES[name] for name in species_order(frame["species"])]
    heads = {name: label("score_item", name).removeprefix("look: ") for name in names}

    def placed(rows: pd.DataFrame) -> pd.DataFrame:
        return rows.assign(
            panel=pd.Categorical(rows["species"].map(SPECIES), panels),
            row=pd.Categorical(rows["item"].map(heads), list(heads.values())),
            group=pd.Categorical(rows["method_group"].map(lambda name: label("method_group", name)), groups[::-1]),
        )

    frame, totals = placed(frame), placed(totals)
    frame = frame.assign(
        grade=pd.Categorical(frame["value"].astype(int).map(dict(zip(grades, words, strict=True))), words[::-1]),
        text=frame["cases"].map("{:,}".format),
    )
    totals = totals.assign(note=totals["cases"].map("n = {:,}".format))
    shades = SHADES[len(grades)]
    many = len(names) > 1
    plot = (
        ggplot(frame, aes("group", "share"))
        + facet_grid("row", "panel", scales="free_y", space="free_y")
        + geom_col(aes(fill="grade"), width=0.74, color=INK, size=0.3)
        + geom_text(
            aes(label="text", color="grade", group="grade"),
            position=position_stack(vjust=0.5),
            size=7.5,
            show_legend=False,
        )
        + geom_text(aes("group", 1.03, label="note"), totals, size=7.5, ha="left", color=INK)
        + scale_fill_manual(values=dict(zip(words, shades, strict=True)), breaks=list(words), limits=list(words[::-1]))
        + scale_color_manual(values=dict(zip(words, _ink(shades), strict=True)), limits=list(words[::-1]))
        + coord_flip()
        + scale_y_continuous(breaks=[0, 0.5, 1], labels=["0", "50", "100 %"], limits=(0, 1.3), expand=(0.01, 0))
        + labs(x="", y="Share of cases")
        + house_theme(grid="")
        + theme(legend_key_width=14, strip_text_y=element_text(size=8.5, weight="normal", ha="center"))
    )
    scored = sum(item.scored for item in items)
    asked = sum(item.asked for item in items)
    what = "scores" if many else "cases"
    return Figure(
        id=f"scores-{identifier}",
        title=title,
        description="Stacked bars of grades, a bar a method group within species. "
        + " ".join(_told(item, many) for item in items),
        caption=f"n = {scored:,} {what} graded of {asked:,} asked about, from day {answer.from_day} on. Numbers in the "
        "bars: cases. Grades are of our own unvalidated scale; counts, nothing estimated. This is not a "
        "comparison of methods: unlike wounds were treated.",
        plot=plot,
        height=1.3 + ((0.19 if many else 0.27) * len(groups) + 0.15) * len(names),
    )


def _told(item: ItemScores, many: bool) -> str:
    head = SPECIES[item.species] + (f", {label('score_item', item.item)}" if many else "")
    medians = "; ".join(
        f"{label('method_group', name)} median {value:g} (n = {n:,})" for name, value, n in item.medians
    )
    return f"{head}: {medians}."


def _ink(shades: tuple[str, ...]) -> list[str]:
    return [INK if int(shade[1:3], 16) > 0x60 else "white" for shade in shades]


def score_pairs_figure(answer: ScoreAnswer) -> Figure | None:
    """
    The chance of the higher grade for each pair of method groups; None without pairs.

    For hair and use only: twenty pairs of look items would be read as a ranking.
    """
    compared = [(item, *pair) for item in answer.items if item.item in COMPARED for pair in item.pairs]
    if not compared:
        return None
    compared.sort(key=lambda pair: species_place(pair[0].species))
    sizes = {(item.item, item.species, name): n for item, *_ in compared for name, _, n in item.medians}
    rows = [
        Row(
            SPECIES[item.species],
            f"{label('score_item', item.item)}: {label('method_group', first)}\nagainst "
            f"{label('method_group', second)}",
            f"n = {sizes[item.item, item.species, first]:,} and {sizes[item.item, item.species, second]:,}",
            (Mark.of("pair", pair),),
        )
        for item, first, second, pair in compared
    ]
    chances = "; ".join(
        f"{row.panel.lower()}, {row.name}: {amount(pair, places=2)}".replace("\n", " ")
        for row, (*_, pair) in zip(rows, compared, strict=True)
    )
    estimate = compared[0][3]
    return Figure(
        id="scores-pairs",
        title="Chance of the higher grade",
        description=f"A point with an interval for each pair of method groups, a line at 0.5. {chances}.",
        caption=f"n = {count(len(rows), 'pair')} of method groups; their cases at the right. Chance that a case of the "
        f"first group has the higher grade than one of the second, ties half; {percent(estimate.level)} "
        f"intervals, {estimate.method}; not adjusted for the wounds or for their number. Not a comparison of "
        "methods.",
        plot=forest(
            rows, ["pair"], axis="Chance of the higher grade in the first group", breaks=(0, 0.25, 0.5, 0.75, 1),
            tick_labels=("0", "0.25", "0.5", "0.75", "1"), reference=0.5, note_share=0.22,
        ),
        height=forest_height(rows, legend=False),
    )  # fmt: skip
