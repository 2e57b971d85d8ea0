"""The report of cases chosen for how they ended: counts, values and courses; no share, no interval, no curve."""

from audit.analyses.run import Audit
from reports.document import Section
from reports.sections.case_mix import case_mix_section
from reports.sections.flow import flow_section
from reports.sections.summaries import CHOSEN


def counts_sections(audit: Audit) -> tuple[Section, ...]:
    """The cases, their mix, and what was seen in them, one by one."""
    return (
        flow_section(audit.flow),
        case_mix_section(audit.case_mix),
        Section(
            id="seen",
            title="What was seen",
            question="What became of these cases?",
            sentences=(CHOSEN,),
            remarks=(
                "Shares, intervals and curves need every operation of a period, and series = cohort in the protocol.",
            ),
        ),
    )
