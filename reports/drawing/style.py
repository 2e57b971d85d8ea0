"""House style of the figures: quiet, wide white, readable in print, in grey and with any colour vision."""

from collections.abc import Sequence

from plotnine import (
    element_blank,
    element_line,
    element_rect,
    element_text,
    scale_color_manual,
    scale_fill_manual,
    scale_linetype_manual,
    scale_shape_manual,
    theme,
    theme_minimal,
)
from plotnine.scales.scale import scale

# Okabe M, Ito K. Color universal design (2008): blue, vermillion, black, reddish purple. Their orange, yellow and sky
# blue are too pale for lines on white; their green comes too near the blue for eyes without short-wave cones.
COLOURS = ("#0072B2", "#D55E00", "#000000", "#CC79A7")
LINE_TYPES = ("solid", "dashed", "dotted", "dashdot")
SHAPES = ("o", "^", "s", "D")
SCALES = {
    "color": (scale_color_manual, COLOURS),
    "fill": (scale_fill_manual, COLOURS),
    "linetype": (scale_linetype_manual, LINE_TYPES),
    "shape": (scale_shape_manual, SHAPES),
}
UNKNOWN = "#595959"
INK = "#1F2933"
FAINT = "#D9DEE3"
FONT = "DejaVu Sans"


def house_theme(*, legend: str = "top", grid: str = "y") -> theme:
    """The theme of every figure; `grid` names the axes ("x", "y", "xy" or "") from which faint lines run."""
    line, none = element_line(color=FAINT, size=0.5), element_blank()
    return theme_minimal(base_size=9, base_family=FONT) + theme(
        text=element_text(family=FONT, color=INK),
        axis_title=element_text(size=9, color=INK),
        axis_text=element_text(size=8, color=INK),
        axis_line_x=element_line(color=INK, size=0.6),
        axis_ticks_major_x=element_line(color=INK, size=0.6),
        axis_ticks_length=3,
        panel_grid_major_x=line if "x" in grid else none,
        panel_grid_major_y=line if "y" in grid else none,
        panel_grid_minor=none,
        panel_spacing=0.03,
        plot_background=element_rect(fill="white", color="white"),
        strip_text=element_text(size=9, weight="bold", color=INK, ha="left"),
        legend_position=legend,
        legend_title=none,
        legend_text=element_text(size=8),
        legend_key_width=26,
        legend_justification="left",
        legend_box_spacing=0.02,
    )


def group_scales(groups: Sequence[str], aesthetics: Sequence[str] = ("color", "linetype")) -> list[scale]:
    """
    Scales that give each group, in this order, its colour together with its line type or its shape.

    `aesthetics` are those that the plot maps the group to: colour or fill, and never alone, as colour is lost in
    print and on many eyes. Raises ValueError for a lone one, and beyond four groups: no fifth colour stays apart.
    """
    names = list(groups)
    if len(names) > len(COLOURS):
        raise ValueError(f"{len(names)} groups in one panel, {len(COLOURS)} can be told apart; use panels")
    if not {"linetype", "shape"} & set(aesthetics):
        raise ValueError("colour alone does not reach every reader; map the group to linetype or shape as well")
    return [
        SCALES[name][0](values=dict(zip(names, SCALES[name][1], strict=False)), breaks=names, limits=names)
        for name in aesthetics
    ]
