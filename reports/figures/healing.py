"""The healing curve with what the visits leave open, and the competing ends stacked."""

from itertools import pairwise

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
    scale_fill_manual,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.healing import HEALED, HealingAnswer, HealingCurve
from reports.document import Figure
from reports.figures.cases import cases_figure
from reports.figures.labels import EXITS, SPECIES, label
from reports.style import COLOURS, INK, UNKNOWN, house_theme
from reports.wording import count, join, percent, share, time

IN_PLACE = 0
WATCHED_AT = -0.13
FEW = 10
EXIT_FILLS = ("#F2D3BC", "#E0A074", "#C97B4A", "#D9C7E0", "#B795C4", "#8F6AA0")
HEALED_WORDS, OPEN_WORDS, DOUBT_WORDS = "healed", "open, still watched", "cannot be told"


def healing_figures(answer: HealingAnswer) -> tuple[Figure, ...]:
    """Curves by species, by method where there are enough animals, competing ends, and a line a case."""
    if not answer.overall:
        return ()
    curves = [_curves("healing-curve", "Healing since surgery", answer.overall, answer)]
    if answer.by_method:
        curves.append(_curves("healing-by-method", "Healing by method", answer.by_method, answer))
    return (*curves, _incidence(answer), cases_figure(answer))


def _head(curve: HealingCurve) -> str:
    group = "" if curve.group == "all" else f", {label('method_group', curve.group)}"
    return f"{SPECIES[curve.species]}{group}, n = {len(curve.codes):,}"


def last_watched(curve: HealingCurve, horizon: int) -> float:
    """The day up to which the curve is known: the horizon, or the last on which any open case was watched."""
    waiting = curve.incidence.left[(curve.incidence.cause == IN_PLACE) & (curve.incidence.mass > 0)]
    return float(min([horizon, *waiting]))


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


def _curves(identifier: str, title: str, curves: tuple[HealingCurve, ...], answer: HealingAnswer) -> Figure:
    heads = [_head(curve) for curve in curves]
    parts: dict[str, list[pd.DataFrame]] = {"lines": [], "boxes": [], "band": [], "watched": []}
    days = [0, *_round_days(answer.horizon)]
    for curve, head in zip(curves, heads, strict=True):
        lines, boxes = steps(curve, answer.horizon)
        end = last_watched(curve, answer.horizon)
        band = pd.DataFrame({"day": curve.band.days, "low": curve.band.low, "high": curve.band.high})
        start = pd.DataFrame({"day": [0.0], "low": [0.0], "high": [0.0]})
        band = pd.concat([start, band[(band["day"] <= end) & (band["day"] > 0)]])
        mine = answer.lines[answer.lines["case_code"].isin(curve.codes)]
        watched = pd.DataFrame({"day": days, "n": [still_watched(mine, day) for day in days]})
        for name, frame in (("lines", lines), ("boxes", boxes), ("band", band), ("watched", watched)):
            parts[name].append(frame.assign(panel=head))
    frames = {name: pd.concat(found) for name, found in parts.items()}
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
        identifier,
        title,
        "Rising curves of the share healed, a panel a group, flat where nothing is seen to change and a box where the visits "
        "leave the curve open. " + " ".join(_told(curve, head) for curve, head in zip(curves, heads, strict=True)),
        f"n = {count(total, 'case')}. Nonparametric maximum likelihood for healing seen between visits, other exits "
        f"competing; shaded: pointwise {percent(level)} limits, {method}. Boxes: the curve passes through, where is not known. Dashed: "
        f"the days asked about ({join([f'{day}' for day in asked])}). Each curve ends where watching ends.",
        plot,
        height=0.7 + 2.45 * rows,
    )


def _told(curve: HealingCurve, head: str) -> str:
    by_day = "; ".join(f"healed by day {day}: {share(estimate)}" for day, _, estimate in curve.shares)
    return f"{head}: {by_day}; median {time(curve.median)}."


def _round_days(horizon: int) -> list[int]:
    step = next(step for step in (7, 14, 21, 30, 60, 90, 180, 360) if horizon / step <= 7 or step == 360)
    return list(range(step, horizon + 1, step))


def _incidence(answer: HealingAnswer) -> Figure:
    heads = [_head(curve) for curve in answer.overall]
    areas, notes, told = [], [], []
    for curve, head in zip(answer.overall, heads, strict=True):
        end = last_watched(curve, answer.horizon)
        area = stacked(curve, end)
        areas.append(area.assign(panel=head))
        last = area[(area["day"] == end) & (area["ymax"] - area["ymin"] > 1e-9)]
        middle = (last["ymin"] + last["ymax"]) / 2
        notes.append(pd.DataFrame({"panel": head, "day": end, "y": _spread(list(middle)), "text": _parts(curve, last)}))
        told.append(f"{head}, by day {end:.0f}: " + join(_parts(curve, last)) + ".")
    area, note = pd.concat(areas), pd.concat(notes)
    parts = [HEALED_WORDS, DOUBT_WORDS, OPEN_WORDS, *EXITS.values()]
    fills = dict(zip(parts, ("#8FBBD9", "#DDE2E6", "#FFFFFF", *EXIT_FILLS), strict=True))
    area = area.assign(
        panel=pd.Categorical(area["panel"], heads), part=pd.Categorical(area["part"], parts), group=area["part"]
    )
    note = note.assign(panel=pd.Categorical(note["panel"], heads))
    plot = (
        ggplot()
        + facet_wrap("panel", ncol=1)
        + geom_ribbon(
            aes("day", ymin="ymin", ymax="ymax", fill="part", group="group"),
            area,
            color=INK,
            size=0.3,
            outline_type="both",
        )
        + geom_text(aes("day", "y", label="text"), note, size=7.5, ha="left", color=INK, nudge_x=answer.horizon * 0.012)
        + scale_fill_manual(values=fills, limits=parts)
        + scale_x_continuous(
            breaks=[0, *_round_days(answer.horizon)], limits=(0, answer.horizon * 1.36), expand=(0.01, 0)
        )
        + scale_y_continuous(breaks=[0, 0.5, 1], labels=["0", "50", "100 %"], limits=(-0.03, 1.05), expand=(0, 0))
        + labs(x="Days since surgery", y="Share of cases")
        + house_theme(legend="none", grid="")
    )
    total = sum(len(curve.codes) for curve in answer.overall)
    return Figure(
        "healing-ends",
        "What became of the wounds, day by day",
        "Stacked areas from day 0 to the end of watching, healed at the foot, other exits at the top. "
        + " ".join(told),
        f"n = {count(total, 'case')}. Cumulative incidence of healing (seen between visits) and of other exits (exact days), "
        "nonparametric maximum likelihood. White: open and still watched. Grey: healed or still open, the visits do not tell. No intervals are shown here.",
        plot,
        height=0.7 + 2.1 * len(heads),
    )


def stacked(curve: HealingCurve, end: float) -> pd.DataFrame:
    """
    Edges (day, part, ymin, ymax) of the areas up to the day `end`, two rows for each stretch between changes: healed
    from the foot, exits from the top, what is open between.
    """
    npmle = curve.incidence
    edges = np.unique(np.concatenate((npmle.left, npmle.right, [0.0, end])))
    edges = edges[(edges >= 0) & (edges <= end)]
    rows = []
    for begin, stop in pairwise(edges):
        day = (begin + stop) / 2
        sure = npmle.incidence(HEALED, day)[0]
        top, found = 1.0, []
        for cause, name in reversed(list(enumerate(curve.causes, start=1))[1:]):
            gone = npmle.incidence(cause, day)[0]
            found.append((EXITS[name], top - gone, top))
            top -= gone
        doubt_to = min(max(top - npmle.event_free(day)[0], sure), top)
        found += [(HEALED_WORDS, 0.0, sure), (DOUBT_WORDS, sure, doubt_to), (OPEN_WORDS, doubt_to, top)]
        rows += [(at, *part) for at in (begin, stop) for part in found]
    return pd.DataFrame(rows, columns=["day", "part", "ymin", "ymax"])


def _parts(curve: HealingCurve, last: pd.DataFrame) -> list[str]:
    few = len(curve.codes) < FEW
    return [row.part if few else f"{row.part} {percent(row.ymax - row.ymin)}" for row in last.itertuples()]


def _spread(places: list[float], gap: float = 0.085) -> list[float]:
    """The places moved apart as little as keeps lines of text readable, within 0 to 1."""
    order = np.argsort(places, kind="stable")
    found = np.array(places)[order]
    for i in range(1, len(found)):
        found[i] = max(found[i], found[i - 1] + gap)
    if len(found) and found[-1] > 1:
        found[-1] = 1.0
        for i in range(len(found) - 2, -1, -1):
            found[i] = min(found[i], found[i + 1] - gap)
    back = np.empty_like(found)
    back[order] = found
    return list(back)
