"""The tables of the paper, chosen from the catalogue; a line a case is its own."""

from collections.abc import Iterator
from dataclasses import replace

from audit.analyses.case_mix import CaseMixAnswer
from reports.catalogue import Catalogue
from reports.document import Column, Table
from reports.figures.labels import SPECIES
from reports.write_up.case_table import case_table
from reports.write_up.evidence import Evidence

TABLES = (
    "characteristics", "take", "healing", "complications", "complication-list", "donor-bandage", "score-hair",
    "score-agreement", "measure-agreement", "bandage-phases", "factor-ratios", "yardsticks-published",
)  # fmt: skip
NEED_RISKS = ("bandage-phases", "factor-ratios", "yardsticks-published")
TITLES = {  # in the report these are questions
    "score-agreement": "Agreement of raters on grades",
    "measure-agreement": "Agreement of two raters on measurements",
}


def tables(evidence: Evidence, catalogue: Catalogue) -> tuple[Table, ...]:
    """Every table that has something to show, in order; those that speak of risks only where there are any."""
    chosen = [name for name in TABLES if evidence.risks or name not in NEED_RISKS]
    lines = case_table(evidence.lines)
    return (*_in_paper(catalogue.tables(*chosen), evidence), *((lines,) if lines.rows else ()))


def _in_paper(listed: tuple[Table, ...], evidence: Evidence) -> Iterator[Table]:
    for table in listed:
        if table.id != "characteristics":
            yield replace(table, title=TITLES.get(table.id, table.title))
        elif evidence.audit.case_mix.totals:
            yield _with_numbers(table, evidence.audit.case_mix)


def _with_numbers(table: Table, answer: CaseMixAnswer) -> Table:
    """Table 1 with the operations of each species in its heads, and each characteristic named once."""
    operations = {SPECIES[name]: number for name, number, _ in answer.totals}
    columns = tuple(
        Column(f"{c.name} (n = {operations[c.name]})", c.unit, c.align) if c.name in operations else c
        for c in table.columns
    )
    rows = tuple(("" if n and row[0] == table.rows[n - 1][0] else row[0], *row[1:]) for n, row in enumerate(table.rows))
    return replace(table, columns=columns, rows=rows)
