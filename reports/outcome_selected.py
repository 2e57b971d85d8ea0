"""The report of cases chosen for how they ended: counts, values and courses; no share, no interval, no curve."""

from audit.analyses.audit import Audit
from reports.document import Section
from reports.figures.cases import cases_figures
from reports.figures.take import take_figures
from reports.sections.case_mix import case_mix_section
from reports.sections.flow import flow_section
from reports.write_up.evidence import Evidence
from reports.write_up.tables import CHOSEN, tables

SHOWN = ("take", "healing", "complications", "complication-list", "donor-bandage", "score-hair")


def counts_sections(audit: Audit) -> tuple[Section, ...]:
    """The cases, their mix, and what was seen in them, one by one."""
    made = tables(Evidence(audit, (), (), ()))
    drawn = (*take_figures(audit.take), *cases_figures(audit.healing))
    return (
        flow_section(audit.flow),
        case_mix_section(audit.case_mix),
        Section(
            "seen",
            "What was seen",
            "What became of these cases?",
            (CHOSEN,),
            tuple(figure for figure in drawn if figure.id in ("take-every-graft", "healing-cases")),
            tuple(table for table in made if table.id in SHOWN),
            (),
            ("Shares, intervals and curves need every operation of a period, and series = cohort in the protocol.",),
        ),
    )
