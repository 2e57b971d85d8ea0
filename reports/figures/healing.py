"""The healing curve with what the visits leave open, and the competing ends stacked."""

import numpy as np
import pandas as pd
from plotnine import (
    aes,
    annotate,
    coord_cartesian,
    facet_wrap,
    geom_rect,
    geom_ribbon,
    geom_segment,
    geom_text,
    ggplot,
    labs,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.healing import HEALED, HealingAnswer, HealingCurve
from reports.document import Figure
from reports.drawing.style import COLOURS, INK, UNKNOWN, house_theme
from reports.figures.ends import last_watched, panel_head, round_days, watched_after_surgery
from reports.wording import count, join, percent, share, time

WATCHED_AT = -0.13


def healing_curve_figure(answer: HealingAnswer) -> Figure | None:
    """Curves of free grafts by species; None where no free graft was seen after surgery."""
    return _curves("healing-curve", "Healing since surgery", answer.overall, answer)


def healing_by_method_figure(answer: HealingAnswer) -> Figure | None:
    """Curves by method where there are enough animals; None without such a method, or without a free graft."""
    return _curves("healing-by-method", "Healing by method", answer.by_method if answer.overall else (), answer)


def steps(curve: HealingCurve, horizon: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """
    The known parts of the curve of healing as lines (x, y, xend, yend), and the parts that the visits leave open as
    boxes (xmin, xmax, ymin, ymax), up to the day on which watching ends.
    """
    npmle, end = curve.incidence, last_watched(curve, horizon)
    cells = np.flatnonzero((npmle.cause == HEALED) & (npmle.mass > 1e-9) & (npmle.left < end))
    lines, boxes, x, y = [], [], 0.0, 0.0
    for cell in cells[np.argsort(npmle.right[cells], kind="stable")]:
        left, right, top = float(npmle.left[cell]), min(float(npmle.right[cell]), end), y + float(npmle.mass[cell])
        lines.append((x, y, left, y))
        if npmle.exact[cell]:
            lines.append((left, y, left, top))
        else:
            boxes.append((left, right, y, top))
        x, y = right, top
    lines.append((x, y, max(x, end), y))
    return (
        pd.DataFrame(lines, columns=["x", "y", "xend", "yend"]),
        pd.DataFrame(boxes, columns=["xmin", "xmax", "ymin", "ymax"]),
    )


def still_watched(cases: pd.DataFrame, day: float) -> int:
    """How many are watched after `day` and were not seen healed by then: neither healed, gone nor last seen before."""
    healed, censored = cases["cause"] == "healed", cases["cause"] == "censored"
    until = cases["right_day"].astype(float).where(healed, cases["exit_day"].astype(float))
    until = until.where(~censored, cases["left_day"].astype(float))
    return int((until > day).sum())


def _curves(identifier: str, title: str, curves: tuple[HealingCurve, ...], answer: HealingAnswer) -> Figure | None:
    curves, unseen = watched_after_surgery(curves)
    if not curves:
        return None
    heads = [panel_head(curve) for curve in curves]
    parts: dict[str, list[pd.DataFrame]] = {"lines": [], "boxes": [], "band": [], "watched": []}
    days = [0, *round_days(answer.horizon)]
    for curve, head in zip(curves, heads, strict=True):
        lines, boxes = steps(curve, answer.horizon)
        end = last_watched(curve, answer.horizon)
        band = pd.DataFrame({"day": curve.band.days, "low": curve.band.low, "high": curve.band.high})
        start = pd.DataFrame({"day": [0.0], "low": [0.0], "high": [0.0]})
        band = pd.concat([start, band[(band["day"] <= end) & (band["day"] > 0)]])
        mine = answer.lines_of(curve)
        watched = pd.DataFrame({"day": days, "n": [still_watched(mine, day) for day in days]})
        for name, frame in (("lines", lines), ("boxes", boxes), ("band", band), ("watched", watched)):
            parts[name].append(frame.assign(panel=head))
    frames = {
        name: pd.concat([frame for frame in pieces if len(frame)] or pieces[:1]) for name, pieces in parts.items()
    }
    for frame in frames.values():
        frame["panel"] = pd.Categorical(frame["panel"], heads)
    frames["watched"]["text"] = frames["watched"]["n"].map("{:,}".format)
    asked = [day for day, _, _ in curves[0].shares]
    plot = (
        ggplot()
        + facet_wrap("panel", ncol=1 if len(curves) < 3 else 2)
        + geom_ribbon(aes("day", ymin="low", ymax="high"), frames["band"], fill=COLOURS[0], alpha=0.13)
        + annotate("segment", x=asked, xend=asked, y=0, yend=1, color=UNKNOWN, linetype="dashed", size=0.5)
    )
    if len(frames["boxes"]):
        plot += geom_rect(
            aes(xmin="xmin", xmax="xmax", ymin="ymin", ymax="ymax"), frames["boxes"],
            fill=COLOURS[0], color=COLOURS[0], alpha=0.35, size=0.5,
        )  # fmt: skip
    plot = (
        plot
        + geom_segment(aes("x", "y", xend="xend", yend="yend"), frames["lines"], color=COLOURS[0], size=1.1)
        + geom_text(aes("day", WATCHED_AT, label="text"), frames["watched"], size=7.5, color=INK)
        + coord_cartesian(xlim=(0, answer.horizon), ylim=(WATCHED_AT - 0.05, 1))
        + scale_x_continuous(breaks=days, expand=(0.03, 0))
        + scale_y_continuous(
            breaks=[WATCHED_AT, 0, 0.25, 0.5, 0.75, 1],
            labels=["still watched", "0", "25", "50", "75", "100 %"],
            expand=(0, 0.02),
        )
        + labs(x="Days since surgery", y="Share healed")
        + house_theme(legend="none")
    )
    level, method = curves[0].band.level, curves[0].band.method
    total = sum(len(curve.codes) for curve in curves)
    rows = -(-len(curves) // (1 if len(curves) < 3 else 2))
    return Figure(
        id=identifier,
        title=title,
        description="Rising curves of the share healed, a panel a group, flat where nothing is seen to change and a "
        "box where the visits leave the curve open. "
        + " ".join(_told(curve, head) for curve, head in zip(curves, heads, strict=True)),
        caption=f"n = {count(total, 'case')}. Nonparametric maximum likelihood for healing seen between visits, other "
        f"exits competing; shaded: pointwise {percent(level)} limits, {method}. Boxes: the curve passes through, "
        f"where is not known. Dashed: the days asked about ({join([f'{day}' for day in asked])}). Each curve "
        "ends where watching ends." + unseen,
        plot=plot,
        height=0.7 + 2.45 * rows,
    )


def _told(curve: HealingCurve, head: str) -> str:
    by_day = "; ".join(f"healed by day {day}: {share(estimate)}" for day, _, estimate in curve.shares)
    return f"{head}: {by_day}; median {time(curve.median)}."
