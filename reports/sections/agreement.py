"""Tables of whether raters agree, on grades and on measures, before anything is read into either."""

from audit.analyses.agreement import KAPPA_WEIGHTS, ItemAgreement, MeasureAgreement
from audit.results import Estimate
from reports import wording
from reports.document import Column, Table
from reports.figures.labels import label


def agreement_table(agreed: tuple[ItemAgreement, ...]) -> Table:
    """A row a graded item: same grades, coefficients and hidden repeats; kappa where just two raters graded any."""
    of_two = any(item.kappa for item in agreed)
    return Table(
        "score-agreement",
        "Do raters agree, before anything is read into their grades?",
        (
            Column("Item"), Column("Photographs", align="right"), Column("Raters", align="right"), Column("Same grade, of pairs"),
            *((Column("Weighted kappa (interval)"),) if of_two else ()),
            Column("Krippendorff's alpha (interval)"), Column("Gwet's AC2 (interval)"), Column("Same again, of hidden repeats"),
        ),
        tuple(
            (label("score_item", a.item).capitalize(), str(a.photographs), str(a.raters), f"{a.exact} of {a.pairs}",
             *((_kappa(a),) if of_two else ()), _coefficient(a.alpha), _coefficient(a.ac2), f"{a.repeats[1]} of {a.repeats[0]}")
            for a in agreed
        ),
        (
            "Photographs graded by two raters or more; alpha and AC2 are 1 for full agreement. Intervals by resampling animals.",
            *((
                f"Kappa is of two raters, with {KAPPA_WEIGHTS} weights: a difference of two grades counts four times one of one. "
                "It has an interval only where each animal has one photograph.",
            ) if of_two else ()),
        ),
    )  # fmt: skip


def measure_table(measured: tuple[MeasureAgreement, ...]) -> Table:
    """A row a measured item: mean difference, limits of agreement and correlation, or why there is none."""
    rows = tuple(
        (label("score_item", m.item), str(m.photographs), m.refused, "", "")
        if m.limits is None or m.correlation is None
        else (
            label("score_item", m.item),
            str(m.photographs),
            wording.amount(m.limits.bias),
            f"{wording.number(m.limits.lower.value or 0, 1)} to {wording.number(m.limits.upper.value or 0, 1)}",
            wording.amount(m.correlation, places=2),
        )
        for m in measured
    )
    return Table(
        "measure-agreement",
        "Do two raters measure alike?",
        (
            Column("Measure"), Column("Photographs", align="right"), Column("Mean difference (interval)"),
            Column("Limits that hold 95 % of differences"), Column("ICC(2,1) (interval)"),
        ),
        rows,
    )  # fmt: skip


def _coefficient(estimate: Estimate | None) -> str:
    return "too few" if estimate is None else wording.amount(estimate, places=2)


def _kappa(item: ItemAgreement) -> str:
    if item.raters != 2:
        return "more than two raters"
    if item.kappa is not None and item.kappa.value is None:
        return "one grade throughout"
    return _coefficient(item.kappa)
