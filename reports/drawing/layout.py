"""A figure laid out anew for a narrow column or a wide slide: facets, legend and labels fitted until all is legible."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from copy import deepcopy

import matplotlib
import matplotlib.pyplot as plt
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure as Drawn
from plotnine import element_blank, element_text, facet_grid, facet_wrap, ggplot, guide_legend, guides, theme
from plotnine.scales.scale_discrete import scale_discrete

from reports.document import Figure
from reports.drawing.draw import DOTS_PER_INCH, STABLE
from reports.drawing.legible import LETTER, SMALL, fit_words, settled

Sides = tuple[float, float, float, float]
SIDES = ("plot_margin_left", "plot_margin_right", "plot_margin_top", "plot_margin_bottom")
TITLE = 7.5  # points, of axis titles and heads of panels; all other text is SMALL
SIZES = {
    "axis_title": TITLE, "axis_text": SMALL, "axis_text_x": SMALL, "axis_text_y": SMALL,
    "strip_text": TITLE, "strip_text_x": TITLE, "strip_text_y": TITLE, "legend_text": SMALL,
}  # fmt: skip
KEY = 34 / 72  # inches of a legend's key with its margins
TALLER, TRIES = 1.08, 12
NARROW, MARGIN = 5.0, 0.06  # inches
FRAME, STACKED = 1.1, 0.75  # inches round the panels; of the height of a panel that stood beside another, once below it


@contextmanager
def laid_out(
    figure: Figure, width: float, height: float | None, respell: Callable[[str], str], inside: Sides | None = None
) -> Iterator[tuple[Drawn, list[str]]]:
    """
    The figure drawn `width` inches wide, with what is still wrong with its text (see legible.faults).

    Without a height it grows until its text is apart; with one, panels go side by side and the height is kept.
    `inside` are margins (left, right, top, bottom) as shares of the width. The layout is settled: it can be
    saved in any format, and is closed afterwards.
    """
    matplotlib.use("agg")
    chosen = (figure.wide if height is not None else figure.narrow if width < NARROW else None) or figure
    plot = relaid(chosen, width, side_by_side=height is not None)
    tall = height or _height(chosen, width, plot)
    margins = dict(zip(SIDES, inside or (MARGIN / width,) * 4, strict=True))
    plot += theme(figure_size=(width, tall), dpi=DOTS_PER_INCH, **margins)
    with matplotlib.rc_context({**plot.theme.rcParams, **STABLE}):
        drawn = plot.draw()
        try:
            FigureCanvasAgg(drawn)  # measures text
            fit_words(drawn, width, respell)
            wrong = settled(drawn, wrap_first=height is None)
            for _ in range(0 if height else TRIES):
                if not any(fault.startswith("overlap") for fault in wrong):
                    break
                tall *= TALLER
                drawn.set_size_inches(width, tall)
                wrong = settled(drawn, wrap_first=True)
            drawn.set_layout_engine("none")
            yield drawn, wrong
        finally:
            plt.close(drawn)


def relaid(figure: Figure, width: float, *, side_by_side: bool = False) -> ggplot:
    """The figure's plot with text of SMALL and TITLE points, its panels stacked or side by side, its legend in rows."""
    plot = deepcopy(figure.plot)
    for layer in plot.layers:
        if type(layer.geom).__name__ == "geom_text":
            layer.geom.aes_params["size"] = SMALL
    if side_by_side or width < NARROW:
        plot += _facets(plot, side_by_side)
    blank = plot.theme.T.is_blank
    sizes = {n: element_text(size=size) for n, size in SIZES.items() if not (blank(n) or blank(f"{n}_x"))}
    return (
        plot
        + _legend(plot, width)
        + theme(
            **sizes,
            legend_title=element_blank(),
            legend_key_width=18,
            legend_key_height=11,
        )
    )


def _facets(plot: ggplot, side_by_side: bool) -> list[facet_grid | facet_wrap]:
    """Panels stacked, or side by side; a grid with both rows and columns stays one."""
    facet = plot.facet
    if isinstance(facet, facet_wrap):
        return [facet_wrap(facet.vars, scales=_free(facet), **({"nrow": 1} if side_by_side else {"ncol": 1}))]
    if not isinstance(facet, facet_grid):
        return []
    rows = [name for name in facet.rows if _levels(plot, name) > 1]
    columns = [name for name in facet.cols if _levels(plot, name) > 1]
    if rows and columns:
        return []
    names = (rows or columns) or (facet.rows or facet.cols)
    if side_by_side:
        return [facet_wrap(names, nrow=1, scales="free_y" if rows else "fixed")]
    return [facet_grid(rows=names, scales="free_y", space="free_y")]


def _free(facet: facet_wrap) -> str:
    free = facet.free
    return "free" if free["x"] and free["y"] else "free_x" if free["x"] else "free_y" if free["y"] else "fixed"


def _levels(plot: ggplot, name: str) -> int:
    frames = [frame for frame in (plot.data, *(layer._data for layer in plot.layers)) if hasattr(frame, "columns")]
    return max((frame[name].nunique() for frame in frames if name in frame.columns), default=0)


def _legend(plot: ggplot, width: float) -> list[guides]:
    """The legend's keys in as many columns as the width holds."""
    found: dict[str, int] = {}
    for scale in plot.scales:
        if not isinstance(scale, scale_discrete):
            continue
        given = scale.breaks if isinstance(scale.breaks, list) else scale.limits
        names = [str(name) for name in given or _mapped(plot, scale.aesthetics[0])]
        shown = plot.guides.__dict__.get(scale.aesthetics[0]) != "none"
        if names and shown and scale.aesthetics[0] in ("color", "fill", "shape", "linetype"):
            each = KEY + max(map(len, names)) * SMALL * LETTER / 72
            found[scale.aesthetics[0]] = min(max(int(width * 0.97 / each), 1), len(names))
    return (
        [guides(**{name: guide_legend(ncol=columns, byrow=True) for name, columns in found.items()})] if found else []
    )


def _mapped(plot: ggplot, aesthetic: str) -> list[str]:
    """The values of the column that the plot maps to the aesthetic."""
    for layer in plot.layers:
        column = {**plot.mapping, **layer.mapping}.get(aesthetic)
        frame = layer._data if hasattr(layer._data, "columns") else plot.data
        if isinstance(column, str) and column in getattr(frame, "columns", ()):
            values = frame[column]
            return [f"{v}" for v in (values.cat.categories if hasattr(values, "cat") else values.unique())]
    return []


def _height(figure: Figure, width: float, plot: ggplot) -> float:
    """A first guess: as drawn for the report, more where columns of panels were stacked."""
    before, after = _columns(figure.plot), _columns(plot)
    return figure.height if before <= after else FRAME + (figure.height - FRAME) * STACKED * before / after


def _columns(plot: ggplot) -> int:
    facet = plot.facet
    if isinstance(facet, facet_wrap):
        panels = _levels(plot, facet.vars[0])
        asked = facet._ncol if hasattr(facet, "_ncol") else facet.ncol
        return min(asked or panels, panels)
    if isinstance(facet, facet_grid) and facet.cols:
        return max(_levels(plot, facet.cols[0]), 1)
    return 1
