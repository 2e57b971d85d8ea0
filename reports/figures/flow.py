"""The flow of cases as boxes, and how complete the records are."""

from dataclasses import replace
from functools import partial

import pandas as pd
from plotnine import (
    aes,
    arrow,
    coord_flip,
    facet_grid,
    geom_col,
    geom_rect,
    geom_segment,
    geom_text,
    ggplot,
    labs,
    scale_fill_manual,
    scale_x_continuous,
    scale_y_continuous,
    theme,
    theme_void,
)

from audit.analyses.flow import FlowAnswer
from audit.dictionary import TABLES
from reports.document import Figure
from reports.drawing.style import FONT, INK, house_theme
from reports.figures.labels import SPECIES, label, wrapped
from reports.wording import count, join

LINE = 0.17
GAP = 0.24
WIDE, NARROW = 99, 32  # letters in a line of a box; beyond the wide no line is broken
BETWEEN = 0.12
ACROSS = ((0.0, 0.82, 18), (0.94, 1.76, 18), (1.88, 2.98, 27))  # columns: left, right, letters in a line
Box = tuple[float, float, str, float, float]
KINDS = ("value given", "looked at or asked, no value", "missing")
FILLS = ("#3B6E8F", "#A9C4D6", "#F0F2F4")


def flow_figure(answer: FlowAnswer) -> Figure | None:
    """The flow of cases; None where the store holds no operation."""
    if _no_operation(answer):
        return None
    tall = _flow(answer)
    return replace(tall, narrow=_flow(answer, NARROW), wide=replace(tall, plot=_across(answer)))


def _no_operation(answer: FlowAnswer) -> bool:
    return not answer.stages or not answer.stages[0].cases


def _flow(answer: FlowAnswer, letters: int = WIDE) -> Figure:
    """Boxes that hold lines of so many letters."""
    first, *later = answer.stages
    left_out = [(reason, len(codes)) for stage in later for reason, codes in stage.left_out]
    asked = len(answer.stages[-1].cases)
    boxes: list[Box] = []
    arrows = []
    box = partial(_box, boxes, letters)
    y = box(0.0, "main", f"{count(len(first.cases), 'operation')} in the store")
    for reason, number in left_out:
        middle = y - GAP - LINE
        arrows.append((0.0, 0.62, middle, middle))
        y = box(middle + LINE, "side", f"left out, {number:,}: {reason}")
    spine_start, y = boxes[0][3], y - GAP
    ordered = sorted(answer.species, key=lambda counts: list(SPECIES).index(counts[0]))
    species = join([f"{cases:,} in {SPECIES[name].lower()}" for name, cases, _ in ordered])
    top = y
    y = box(
        y, "main", f"{count(asked, 'operation')} asked about",
        *([f"in {count(answer.animals, 'animal')}: {species}"] if asked else []),
    )  # fmt: skip
    arrows.append((0.0, 0.0, spine_start, top))
    spine_start = y
    if answer.never_seen:
        middle = y - GAP - LINE
        arrows.append((0.0, 0.62, middle, middle))
        y = box(middle + LINE, "side", f"kept, {len(answer.never_seen):,}: never seen after surgery")
    if asked:
        arrows.append((0.0, 0.0, spine_start, y - GAP))
        ends = sorted(answer.exits, key=lambda end: -len(end[1]))
        box(
            y - GAP, "main", "How the records end",
            *(f"{label('exit_reason', reason)}: {len(codes):,}" for reason, codes in ends),
        )  # fmt: skip
    plot = _boxes(boxes, arrows, (-1.4, 3.3))
    foot = min(box[3] for box in boxes)
    reasons = "; ".join(f"{number:,} {reason}" for reason, number in left_out) or "none"
    return Figure(
        id="flow",
        title="Which operations were asked about",
        description=f"Boxes from top to bottom: {count(len(first.cases), 'operation')} in the store, left out "
        f"{reasons}; {count(asked, 'operation')} in {count(answer.animals, 'animal')} asked about"
        + (f", of which {count(len(answer.never_seen), 'operation')} never seen after surgery." if asked else "."),
        caption=f"Operations, each counted once; n = {len(first.cases):,}. Counts, nothing estimated.",
        plot=plot,
        height=-foot * 1.02 + 0.2,
    )


def _boxes(boxes: list[Box], arrows: list[tuple[float, float, float, float]], reach: tuple[float, float]) -> ggplot:
    frame = pd.DataFrame(boxes, columns=["xmin", "xmax", "text", "ymin", "ymax"])
    frame = frame.assign(x=(frame["xmin"] + frame["xmax"]) / 2, y=(frame["ymin"] + frame["ymax"]) / 2)
    lines = pd.DataFrame(arrows, columns=["x", "xend", "y", "yend"])
    return (
        ggplot()
        + geom_segment(aes("x", "y", xend="xend", yend="yend"), lines, color=INK, size=0.6, arrow=arrow(length=0.07))
        + geom_rect(aes(xmin="xmin", xmax="xmax", ymin="ymin", ymax="ymax"), frame, fill="white", color=INK, size=0.6)
        + geom_text(aes("x", "y", label="text"), frame, size=8, color=INK, family=FONT, lineheight=1.3)
        + scale_x_continuous(limits=reach, expand=(0, 0))
        + scale_y_continuous(limits=(float(frame["ymin"].min()) - 0.1, 0.1), expand=(0, 0))
        + theme_void()
        + theme(plot_margin=0.01)
    )


def _across(answer: FlowAnswer) -> ggplot:
    """From left to right, for a slide: the store, those asked about, how the records end; others below."""
    boxes: list[Box] = []
    first, *later = answer.stages
    left_out = [f"{len(codes):,} {reason}" for stage in later for reason, codes in stage.left_out]
    asked = len(answer.stages[-1].cases)
    species = [f"{cases:,} in {SPECIES[name].lower()}" for name, cases, _ in answer.species]
    ends = sorted(answer.exits, key=lambda end: -len(end[1]))
    columns: list[list[list[str]]] = [
        [[f"{count(len(first.cases), 'operation')} in the store"], *([["Left out:", *left_out]] if left_out else [])],
        [[f"{count(asked, 'operation')} asked about", f"in {count(answer.animals, 'animal')}:", *species]],
        [["How the records end", *(f"{label('exit_reason', reason)}: {len(codes):,}" for reason, codes in ends)]],
    ]
    if answer.never_seen:
        columns[1].append([f"Kept, {len(answer.never_seen):,}: never seen after surgery"])
    arrows = []
    for (left, right, letters), column in zip(ACROSS, columns if asked else columns[:2], strict=False):
        y = 0.0
        for text in column:
            lines = [line for counts in text for line in wrapped(counts, letters).split("\n")]
            if y < 0:
                arrows.append(((left + right) / 2, (left + right) / 2, y, y - GAP))
                y -= GAP
            boxes.append((left, right, "\n".join(lines), y - LINE * (len(lines) + 1), y))
            y = boxes[-1][3]
        if left:
            arrows.append((left - BETWEEN, left, -LINE, -LINE))
    return _boxes(boxes, arrows, (-0.02, 3.0))


def _box(boxes: list[Box], letters: int, top: float, kind: str, *text: str) -> float:
    """Adds a box that hangs from `top`; returns its lower edge."""
    lines = [line for part in text for line in wrapped(part, letters).split("\n")]
    left, right = (-1.35, 1.35) if kind == "main" else (0.62, 3.25)
    bottom = top - LINE * (len(lines) + 1)
    boxes.append((left, right, "\n".join(lines), bottom, top))
    return bottom


def completeness_figure(answer: FlowAnswer) -> Figure | None:
    """The completeness of fields by table; None where the store holds no operation, or no value is due."""
    rows = answer.completeness[answer.completeness["due"] > 0]
    if _no_operation(answer) or rows.empty:
        return None
    rows = rows.astype({"is_core": bool, **dict.fromkeys(("due", "present", "not_assessable", "refused"), int)})
    rows = rows.assign(
        part=rows["is_core"].map({True: "Core fields", False: "Other fields"}),
        answered=rows["not_assessable"] + rows["refused"],
    )
    tables = [table.name for table in TABLES if (rows["table_name"] == table.name).any()]
    sums = rows.groupby(["table_name", "part"], as_index=False)[["due", "present", "answered"]].sum()
    sums["missing"] = sums["due"] - sums["present"] - sums["answered"]
    sums = sums.assign(
        table=pd.Categorical(sums["table_name"].str.replace("_", " "), [t.replace("_", " ") for t in reversed(tables)])
    )
    long = sums.melt(["table", "part", "due"], ["present", "answered", "missing"], "kind", "number")
    named = dict(zip(("present", "answered", "missing"), KINDS, strict=True))
    long = long.assign(kind=pd.Categorical(long["kind"].map(named), KINDS[::-1]), share=long["number"] / long["due"])
    notes = sums.assign(note=[f"{row.present:,} of {row.due:,}" for row in sums.itertuples()])
    plot = (
        ggplot(long, aes("table", "share"))
        + facet_grid(cols="part")
        + geom_col(aes(fill="kind"), width=0.62, color=INK, size=0.3)
        + geom_text(aes("table", 1.03, label="note"), notes, size=7.5, ha="left", color=INK)
        + scale_fill_manual(values=dict(zip(KINDS, FILLS, strict=True)), breaks=list(KINDS), limits=list(KINDS[::-1]))
        + coord_flip()
        + scale_y_continuous(breaks=[0, 0.5, 1], labels=["0", "50", "100 %"], limits=(0, 1.6), expand=(0.01, 0))
        + labs(x="", y="Share of the values due")
        + house_theme(grid="")
    )
    (core, core_due), (every, every_due) = answer.core_complete, answer.all_complete
    return Figure(
        id="completeness",
        title="How complete the records are",
        description=f"Stacked bars by table. Core fields: {core:,} of {core_due:,} values due are given; all fields: "
        f"{every:,} of {every_due:,}. "
        + join([f"{row.table} {row.part.lower()}: {row.note}" for row in notes.itertuples()])
        + ".",
        caption=f"n = {every_due:,} values due in {count(len(answer.stages[0].cases), 'operation')}; a value that does "
        "not apply is not due. Numbers at the right: values given, of those due. Counts, nothing estimated.",
        plot=plot,
        height=1.1 + 0.27 * len(tables),
    )
