"""Time ratios and odds ratios of the models that the data could bear."""

from math import log2

from audit.analyses.factors import FactorAnswer, Model
from audit.results import Estimate
from reports.document import Figure
from reports.figures.forest import Mark, Row, forest, forest_height
from reports.figures.labels import SPECIES
from reports.wording import amount, count, percent

TICKS = {-3: "1/8", -2: "1/4", -1: "1/2", 0: "1", 1: "2", 2: "4", 3: "8"}
MEANS = {
    "days to healing": "time ratio, above 1 later healing",
    "take": "odds ratio, above 1 more take",
    "hair grade": "odds ratio, above 1 more hair",
}


def factor_figure(answer: FactorAnswer) -> Figure | None:
    """One row a factor, a panel an outcome and species; none where every model was refused."""
    fitted = [model for model in answer.models if model.ratios]
    if not fitted:
        return None
    rows = [
        Row(_panel(model), ratio.group, f"n = {len(model.cases)}", (_mark(ratio),))
        for model in fitted
        for ratio in model.ratios
    ]
    ratios = " ".join(
        f"{SPECIES[m.species]}, {m.outcome}: " + "; ".join(f"{r.group} {amount(r, places=2)}" for r in m.ratios) + "."
        for m in fitted
    )
    level = fitted[0].ratios[0].level
    methods = "; ".join(f"{m.outcome} ({MEANS[m.outcome]}): {m.ratios[0].method}" for m in fitted if _first(m, fitted))
    return Figure(
        id="factors",
        title="What goes with healing and take",
        description=f"A point with an interval for each factor; a line at 1, no difference. {ratios}",
        caption=f"n = {count(len(fitted), 'model')}, cases at the right; {percent(level)} intervals, log scale. "
        f"{methods}. Factors that go together with an outcome need not cause it.",
        plot=forest(
            rows, ["ratio"], axis="Ratio", breaks=tuple(map(float, TICKS)), tick_labels=tuple(TICKS.values()),
            reference=0.0, note_share=0.15,
        ),
        height=forest_height(rows, legend=False) + 0.25 * len(fitted),
    )  # fmt: skip


def _first(model: Model, fitted: list[Model]) -> bool:
    return model is next(each for each in fitted if each.outcome == model.outcome)


def _panel(model: Model) -> str:
    return f"{SPECIES[model.species]}:\n{model.outcome}"


def _mark(ratio: Estimate) -> Mark:
    ends = (ratio.value, ratio.value_to, ratio.low, ratio.high)
    value, value_to, low, high = (None if end is None else log2(max(end, 1e-9)) for end in ends)
    return Mark("ratio", value, value_to, low, high)
