"""Rows of points with intervals, a panel a species, the counts written at the right edge of each row."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import pandas as pd
from plotnine import (
    aes,
    arrow,
    facet_grid,
    geom_point,
    geom_segment,
    geom_text,
    geom_vline,
    ggplot,
    guides,
    labs,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.results import Estimate, Span
from reports.drawing.style import INK, UNKNOWN, group_scales, house_theme

STEP = 0.26
ROW_INCHES = 0.36


@dataclass(frozen=True, slots=True)
class Mark:
    """
    A point with an interval, of one of the figure's kinds.

    Where `value_to` differs from `value` a bar takes the point's place; a limit that is None has no end, a point may
    be missing.
    """

    kind: str
    value: float | None
    value_to: float | None
    low: float | None
    high: float | None

    @classmethod
    def of(cls, kind: str, estimate: Estimate) -> "Mark":
        """The mark of an estimate."""
        return cls(kind, estimate.value, estimate.value_to, estimate.low, estimate.high)


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its panel, its name at the left, its note at the right, its marks from top to bottom."""

    panel: str
    name: str
    note: str
    marks: tuple[Mark, ...]
    bounds: Span | None = None


def forest(
    rows: Sequence[Row],
    kinds: Sequence[str],
    *,
    axis: str,
    breaks: Sequence[float],
    tick_labels: Sequence[str],
    note_share: float = 0.3,
    reference: float | None = None,
) -> ggplot:
    """
    The rows in their order, panels in the order in which they first come.

    `breaks` span the axis; notes take `note_share` of the width to the right of it. Bounds are thin grey lines.
    """
    low, high = breaks[0], breaks[-1]
    right = low + (high - low) / (1 - note_share)
    places = pd.DataFrame(
        {
            "panel": [row.panel for row in rows],
            "y": [-float(i) for i in range(len(rows))],
            "note": [r.note for r in rows],
        }
    )
    panels = list(dict.fromkeys(places["panel"]))
    points, spans, open_spans, bars = _marks(rows, kinds, low, high)
    bounds = pd.DataFrame(
        [(row.panel, -i - _below(row), *row.bounds) for i, row in enumerate(rows) if row.bounds],
        columns=["panel", "y", "low", "high"],
    )
    plot = ggplot() + facet_grid("panel", scales="free_y", space="free_y")
    if reference is not None:
        plot += geom_vline(xintercept=reference, color=UNKNOWN, size=0.5, linetype="dashed")
    layers = (
        (bounds, geom_segment(aes("low", "y", xend="high", yend="y"), bounds, color=UNKNOWN, size=0.4)),
        (spans, geom_segment(aes("low", "y", xend="high", yend="y", color="kind", linetype="kind"), spans, size=0.9)),
        (
            open_spans,
            geom_segment(
                aes("low", "y", xend="high", yend="y", color="kind", linetype="kind"), open_spans, size=0.9,
                arrow=arrow(length=0.06, type="closed"), show_legend=False,
            ),
        ),
        (bars, geom_segment(aes("low", "y", xend="high", yend="y", color="kind"), bars, size=3.2, show_legend=False)),
        (points, geom_point(aes("value", "y", color="kind", shape="kind"), points, size=2.4, fill="white", stroke=0.8)),
    )  # fmt: skip
    for data, layer in layers:
        if len(data):
            plot += layer
    for frame in (places, points, spans, open_spans, bars, bounds):
        frame["panel"] = pd.Categorical(frame["panel"], panels)
    plot += geom_text(
        aes(high, "y", label="note"), places, size=7.5, ha="left", color=INK, nudge_x=(right - low) * 0.035
    )
    return (
        plot
        + group_scales(kinds)
        + scale_x_continuous(breaks=list(breaks), labels=list(tick_labels), limits=(low, right), expand=(0.02, 0))
        + scale_y_continuous(
            breaks=list(places["y"]), labels=[row.name for row in rows], expand=(0, 0.62), minor_breaks=[]
        )
        + labs(x=axis, y="", **dict.fromkeys(("color", "shape", "fill", "linetype"), ""))
        + guides(linetype="none")
        + house_theme(grid="x", legend="top" if len(kinds) > 1 else "none")
    )


def forest_height(rows: Sequence[Row], *, legend: bool = True) -> float:
    """Inches that the rows need."""
    tall = ROW_INCHES * max(1.0, max(len(row.marks) for row in rows) / 2) if legend else ROW_INCHES * 0.85
    return (1.05 if legend else 0.8) + tall * len(rows) + 0.18 * len({row.panel for row in rows})


def _below(row: Row) -> float:
    return STEP * (len(row.marks) - 1) / 2 + 0.22 if row.marks else 0.0


def _marks(
    rows: Sequence[Row], kinds: Sequence[str], least: float, most: float
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    points, spans, open_spans, bars = [], [], [], []
    for i, row in enumerate(rows):
        first = STEP * (len(row.marks) - 1) / 2
        for place, mark in enumerate(row.marks):
            where = (row.panel, mark.kind, -i + first - STEP * place)
            to = mark.value if mark.value_to is None else mark.value_to
            if mark.value is not None and to == mark.value:
                points.append((*where, mark.value))
            elif mark.value is not None:
                bars.append((*where, mark.value, min(to if to is not None else inf, most)))
            if mark.low is None:
                continue
            if mark.high is None or mark.high > most:
                open_spans.append((*where, max(mark.low, least), most))
            else:
                spans.append((*where, max(mark.low, least), mark.high))
    ends = ["panel", "kind", "y", "low", "high"]
    frames = [pd.DataFrame(points, columns=[*ends[:3], "value"])]
    frames += [pd.DataFrame(lines, columns=ends) for lines in (spans, open_spans, bars)]
    for frame in frames:
        frame["kind"] = pd.Categorical(frame["kind"], list(kinds))
    return frames[0], frames[1], frames[2], frames[3]
