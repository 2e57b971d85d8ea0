"""The section on how fast the open area closed."""

from audit.analyses.wound_closure import WoundClosureAnswer
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES, label


def wound_closure_section(answer: WoundClosureAnswer) -> Section:
    """How fast the edges of open wounds moved."""
    cases = len(answer.cases)
    sentence = "No wound was measured open and again later."
    if cases:
        circles = int(answer.cases["by_circle"].astype(bool).sum())
        sentence = (
            f"{wording.count(cases, 'wound')} were measured open and again later; half of their edges moved in by "
            f"{wording.number(answer.cases['advance_mm'].median(), 1)} mm a day or more."
        )
        if circles:
            sentence += f" In {circles} a perimeter was not measured, and that of a circle stands for it."
    return Section(
        id="open-area-course",
        title="The open area",
        question="How fast does what is open close?",
        sentences=(sentence,),
        ledgers=(
            Ledger("Measured open and again later", tuple(
                (f"{SPECIES[str(s)]}, {label('method_group', str(g))}", tuple(sorted(cases_here["case_code"].dropna())))
                for (s, g), cases_here in answer.cases.groupby(["species", "method_group"])
            )),
        ),
        remarks=(
            "The advance of the edge is the change of area over the mean perimeter, a day; unlike the percentage of the area it "
            "does not favour small wounds. For sheet grafts take tells more than the open area. A circle has the shortest "
            "perimeter, so an advance by circle is a little too fast.",
        ) if cases else (),
    )  # fmt: skip


def _advance_words(estimate: Estimate) -> str:
    if estimate.low is None and estimate.high is None and estimate.value is not None:
        return f"{wording.number(estimate.value, 2)} mm a day (too few for an interval)"
    return wording.amount(estimate, "mm a day", 2)


def edge_advance_table(answer: WoundClosureAnswer) -> Table:
    """A row a species and method group: how fast the edge moved, and how much of the area closed."""
    rows = []
    for species, group, estimate in answer.advance:
        cases = answer.cases[(answer.cases["species"] == species) & (answer.cases["method_group"] == group)]
        reduction = cases["reduction_pct"].astype(float)
        rows.append((
            SPECIES[species], label("method_group", group), str(len(cases)), _advance_words(estimate),
            f"{wording.number(reduction.median())} ({wording.number(reduction.min())} to {wording.number(reduction.max())})",
        ))  # fmt: skip
    return Table(
        "edge-advance",
        "Advance of the wound edge, from the first measured open area to its closing or the last measurement",
        (
            Column("Species"), Column("Method"), Column("Cases", align="right"), Column("Median advance (interval)"),
            Column("Area closed: median (range)", "%"),
        ),
        tuple(rows),
        ("Not a comparison of methods: they were used for unlike wounds.",),
    )  # fmt: skip
