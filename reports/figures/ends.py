"""What became of the wounds day by day: healed, gone in another way, still open, stacked to the whole."""

from itertools import pairwise

import numpy as np
import pandas as pd
from plotnine import (
    aes,
    facet_wrap,
    geom_ribbon,
    geom_text,
    ggplot,
    labs,
    scale_fill_manual,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.healing import HEALED, HealingAnswer, HealingCurve
from audit.stats.competing import IN_PLACE
from reports.document import Figure
from reports.drawing.style import INK, house_theme
from reports.figures.labels import EXITS, SPECIES, label
from reports.wording import count, join, percent

FEW = 10
# Any two can touch, so their lightness differs in every pair, for print in grey.
FILLS = ("#8FBBD9", "#DDE2E6", "#FFFFFF", "#EECBB3", "#DB925F", "#C3692B", "#D2BDDA", "#AB84BA", "#8F5BA3")
HEALED_WORDS, OPEN_WORDS, DOUBT_WORDS = "healed", "open, still watched", "cannot be told"


def panel_head(curve: HealingCurve) -> str:
    """Species, kind of graft and cases."""
    return f"{SPECIES[curve.species]}, {label('method_group', curve.group)}, n = {len(curve.codes):,}"


def last_watched(curve: HealingCurve, horizon: int) -> float:
    """The day up to which the curve is known: the horizon, or the last on which any open case was watched."""
    waiting = curve.incidence.left[(curve.incidence.cause == IN_PLACE) & (curve.incidence.mass > 0)]
    return float(min([horizon, *waiting]))


def round_days(horizon: int) -> list[int]:
    """At most seven or so round days up to the horizon, day 0 not among them."""
    step = next(step for step in (7, 14, 21, 30, 60, 90, 180, 360) if horizon / step <= 7 or step == 360)
    return list(range(step, horizon + 1, step))


def watched_after_surgery(curves: tuple[HealingCurve, ...]) -> tuple[tuple[HealingCurve, ...], str]:
    """The curves with anything to draw after day 0, and a sentence on the others, empty where there are none."""
    drawn = tuple(curve for curve in curves if last_watched(curve, 1) > 0)
    others = [panel_head(curve) for curve in curves if last_watched(curve, 1) <= 0]
    return drawn, f" Not drawn, as none was seen after surgery: {join(others)}." if others else ""


def ends_figure(answer: HealingAnswer) -> Figure | None:
    """Stacked areas, a panel a species; none where no case was seen after surgery."""
    curves, unseen = watched_after_surgery(answer.overall)
    if not curves:
        return None
    heads = [panel_head(curve) for curve in curves]
    areas, notes, ends = [], [], []
    for curve, head in zip(curves, heads, strict=True):
        end = last_watched(curve, answer.horizon)
        area = stacked(curve, end)
        areas.append(area.assign(panel=head))
        last = area.tail(len(curve.causes) + 2)
        last = last[last["ymax"] - last["ymin"] > 1e-9]
        middle = (last["ymin"] + last["ymax"]) / 2
        notes.append(pd.DataFrame({"panel": head, "day": end, "y": _spread(list(middle)), "text": _parts(curve, last)}))
        ends.append(f"{head}, by day {end:.0f}: " + join(_parts(curve, last)) + ".")
    area, note = pd.concat(areas), pd.concat(notes)
    parts = [HEALED_WORDS, DOUBT_WORDS, OPEN_WORDS, *EXITS.values()]
    fills = dict(zip(parts, FILLS, strict=True))
    area = area.assign(
        panel=pd.Categorical(area["panel"], heads),
        part=pd.Categorical(area["part"], parts),
        group=area["part"],
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
            breaks=[0, *round_days(answer.horizon)], limits=(0, answer.horizon * 1.46), expand=(0.01, 0)
        )
        + scale_y_continuous(breaks=[0, 0.5, 1], labels=["0", "50", "100 %"], limits=(-0.03, 1.05), expand=(0, 0))
        + labs(x="Days since surgery", y="Share of cases")
        + house_theme(legend="none", grid="")
    )
    total = sum(len(curve.codes) for curve in curves)
    return Figure(
        id="healing-ends",
        title="What became of the wounds, day by day",
        description="Stacked areas from day 0 to the end of watching, healed at the foot, other exits at the top. "
        + " ".join(ends),
        caption=f"n = {count(total, 'case')}. Cumulative incidence of healing (seen between visits) and of other exits "
        "(exact days), nonparametric maximum likelihood. White: open and still watched. Grey: healed or still "
        "open, the visits do not tell. No intervals are shown here." + unseen,
        plot=plot,
        height=0.7 + 2.1 * len(heads),
    )


def stacked(curve: HealingCurve, end: float) -> pd.DataFrame:
    """
    Edges (day, part, ymin, ymax) of the areas up to the day `end`: two rows of each part for each stretch between
    changes, and one for the end itself.
    """
    npmle = curve.incidence
    edges = np.unique(np.concatenate((npmle.left, npmle.right, [0.0, end])))
    edges = edges[(edges >= 0) & (edges <= end)]
    rows: list[tuple[float, str, float, float]] = []
    for begin, stop in pairwise(edges):
        parts = _parts_at(curve, (begin + stop) / 2)
        rows += [(at, *part) for at in (begin, stop) for part in parts]
    rows += [(end, *part) for part in _parts_at(curve, end)]
    return pd.DataFrame(rows, columns=["day", "part", "ymin", "ymax"])


def _parts_at(curve: HealingCurve, day: float) -> list[tuple[str, float, float]]:
    """The parts of one day from the top: exits, then from the foot: healed, cannot be told, open."""
    top, parts = 1.0, []
    for cause, name in reversed(list(enumerate(curve.causes, start=1))[1:]):
        gone = curve.incidence.incidence(cause, day)[0]
        parts.append((EXITS[name], top - gone, top))
        top -= gone
    sure = curve.incidence.incidence(HEALED, day)[0]
    doubt_to = min(max(top - curve.incidence.event_free(day)[0], sure), top)
    return [*parts, (HEALED_WORDS, 0.0, sure), (DOUBT_WORDS, sure, doubt_to), (OPEN_WORDS, doubt_to, top)]


def _parts(curve: HealingCurve, last: pd.DataFrame) -> list[str]:
    few = len(curve.codes) < FEW
    return [row.part if few else f"{row.part} {percent(round(row.ymax - row.ymin, 6))}" for row in last.itertuples()]


def _spread(places: list[float], gap: float = 0.11) -> list[float]:
    """The places moved apart as little as keeps lines of text readable, within 0 to 1."""
    order = np.argsort(places, kind="stable")
    apart = np.array(places)[order]
    for i in range(1, len(apart)):
        apart[i] = max(apart[i], apart[i - 1] + gap)
    if len(apart) and apart[-1] > 1:
        apart[-1] = 1.0
        for i in range(len(apart) - 2, -1, -1):
            apart[i] = min(apart[i], apart[i + 1] - gap)
    back = np.empty_like(apart)
    back[order] = apart
    return list(back)
