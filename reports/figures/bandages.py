"""How many bandage changes a case needed by each day, and how often they were changed beside the plan."""

from dataclasses import replace
from typing import TypeVar

import numpy as np
import pandas as pd
from plotnine import (
    aes,
    facet_wrap,
    geom_line,
    geom_ribbon,
    ggplot,
    labs,
    scale_x_continuous,
    scale_y_continuous,
)

from audit.analyses.bandages import BandageAnswer
from audit.analyses.groups import species_place
from audit.results import Estimate
from audit.stats.recurrent import MeanCumulative
from reports.document import Figure
from reports.drawing.style import COLOURS, house_theme
from reports.figures.forest import Mark, Row, forest, forest_height
from reports.figures.labels import SPECIES
from reports.wording import amount, count, number, percent

OURS, PLANNED = "changes a week, as recorded", "the plan: at least so many"
WEEK = 7
LONGEST_LIMIT = 3  # times the largest rate: a few cases can have limits a hundred times as high
Found = TypeVar("Found")


def staircase(curve: MeanCumulative) -> pd.DataFrame:
    """The mean and its limits (day, mean, low, high) as a staircase from day 0: two rows for each change."""
    day = np.concatenate(([0.0], curve.day))
    columns = {}
    for name, values in (("mean", curve.mean), ("low", curve.low), ("high", curve.high)):
        steps = np.concatenate(([0.0], values))
        columns[name] = np.column_stack((steps[:-1], steps[1:])).ravel()
    flat = np.column_stack((day[1:], day[1:])).ravel()
    start = pd.DataFrame({"day": [0.0], "mean": [0.0], "low": [0.0], "high": [0.0]})
    return pd.concat([start, pd.DataFrame({"day": flat, **columns})], ignore_index=True)


def bandage_mean_figure(answer: BandageAnswer) -> Figure | None:
    """The mean number of changes by day, species together; None where no change was counted."""
    curves = [(species, curve) for species, curve in _dogs_first(answer.mean) if len(curve.day)]
    if not curves:
        return None
    heads = [f"{SPECIES[species]}, n = {curve.animals:,}" for species, curve in curves]
    steps = pd.concat([staircase(curve).assign(panel=head) for head, (_, curve) in zip(heads, curves, strict=True)])
    steps = steps.assign(panel=pd.Categorical(steps["panel"], heads)).dropna()
    last = float(steps["day"].max())
    step = next(s for s in (1, 7, 14, 21, 30, 60, 90, 180) if last / s <= 9 or s == 180)
    plot = (
        ggplot(steps, aes("day"))
        + facet_wrap("panel", ncol=2)
        + geom_ribbon(aes(ymin="low", ymax="high"), fill=COLOURS[0], alpha=0.15)
        + geom_line(aes(y="mean"), color=COLOURS[0], size=1)
        + scale_x_continuous(breaks=range(0, int(last) + step, step), expand=(0.02, 0))
        + scale_y_continuous(limits=(0, float(steps["high"].max())), expand=(0, 0.2))
        + labs(x="Days since surgery", y="Mean bandage changes")
        + house_theme()
    )
    by_species = [
        f"{head}: {number(curve.mean[-1], 1)} changes by day {curve.day[-1]:.0f}"
        for head, (_, curve) in zip(heads, curves, strict=True)
    ]
    curve = curves[0][1]
    return Figure(
        id="bandage-mean",
        title="Bandage changes, added up",
        description=f"Rising staircases of the mean number of changes a case. {'; '.join(by_species)}.",
        caption=f"n = {count(sum(c.animals for _, c in curves), 'case')} seen after surgery. Mean number of changes "
        f"among the cases still watched on each day; shaded: pointwise {percent(curve.level)} limits, "
        f"{curve.method}.",
        plot=plot,
        height=2.9,
    )


def bandage_rates_figure(answer: BandageAnswer) -> Figure | None:
    """Changes a week by phase, beside the schedule of the protocol; None where nobody was watched."""
    rows = []
    for species, rates in _dogs_first(answer.rates):
        for (first, last, gap), rate in zip(answer.planned, rates, strict=False):
            if rate.value is not None:
                rows.append(_row(species, (first, last, gap), rate))
    if not rows:
        return None
    rate = next(rate for _, rates in answer.rates for rate in rates if rate.value is not None)
    most = LONGEST_LIMIT * max(mark.value or 0 for row in rows for mark in row.marks)
    ends = [mark.high or mark.value or 0 for row in rows for mark in row.marks]
    top = min(max(ends), most)
    cut = " An arrow: the limit lies beyond the axis." if max(ends) > most else ""
    step = next(s for s in (1, 2, 5, 10, 20, 50) if top / s <= 6 or s == 50)
    breaks = list(range(0, int(np.ceil(top / step)) * step + 1, step))
    days = sum(rate.denominator or 0 for _, rates in answer.rates for rate in rates)
    phases = "; ".join(
        f"{SPECIES[species].lower()}, day {first} to {last}: {amount(_weekly(rate), 'changes a week')}, planned at "
        f"least {WEEK / gap:.2g}"
        for species, rates in _dogs_first(answer.rates)
        for (first, last, gap), rate in zip(answer.planned, rates, strict=False)
        if rate.value is not None
    )
    return Figure(
        id="bandage-rates",
        title="How often bandages were changed",
        description=f"A row a phase within species, changes a week beside the plan. {phases}.",
        caption=f"n = {count(len(answer.cases), 'case')}, {days:,} watched days. Changes and watched days at the "
        f"right; {percent(rate.level)} intervals, {rate.method}. The plan is the practice's own: the longest days "
        f"between changes in the protocol, turned into changes a week.{cut}",
        plot=forest(
            rows,
            [OURS, PLANNED],
            axis="Changes a week",
            breaks=breaks,
            tick_labels=[f"{b}" for b in breaks],
            note_share=0.27,
        ),
        height=forest_height(rows),
    )


def _row(species: str, phase: tuple[int, int, int], rate: Estimate) -> Row:
    first, last, gap = phase
    plan = WEEK / gap
    return Row(
        SPECIES[species],
        f"day {first} to {last}",
        f"{rate.numerator or 0:,} in {count(rate.denominator or 0, 'day')}",
        (Mark.of(OURS, _weekly(rate)), Mark(PLANNED, plan, plan, None, None)),
    )


def _weekly(rate: Estimate) -> Estimate:
    value, value_to, low, high = (
        None if end is None else end * WEEK for end in (rate.value, rate.value_to, rate.low, rate.high)
    )
    return replace(rate, value=value, value_to=value_to, low=low, high=high)


def _dogs_first(pairs: tuple[tuple[str, Found], ...]) -> list[tuple[str, Found]]:
    return sorted(pairs, key=lambda pair: species_place(pair[0]))
