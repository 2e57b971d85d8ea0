"""Results: which cases there were, how far they were followed, and how complete their records are."""

from collections.abc import Collection

from reports import wording
from reports.prose import Ask, Block, Heading, Paragraph
from reports.sections.flow import follow_up_words
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see


def case_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Which cases there were, how far they were followed and how complete their records are."""
    flow, plan = evidence.audit.flow, evidence.audit.case_mix.changed_plan
    if not flow.stages[-1].cases:
        return (
            Heading("Animals and operations", 2),
            paragraph("No operation on record is eligible under the protocol."),
        )
    left_out = [(reason, codes) for stage in flow.stages for reason, codes in stage.left_out]
    parts = prose(
        "{loaded} were on record; {asked} met the criteria, in {animals}{left_out}{see}.",
        loaded=fact("flow-loaded", wording.count(len(flow.stages[0].cases), "operation"), "flow.stages.0"),
        asked=fact("flow-asked", str(len(flow.stages[-1].cases)), "flow.stages"),
        animals=fact("flow-animals", wording.join([wording.count(n, s) for s, _, n in flow.species]), "flow.species"),
        left_out=prose(
            "; left out were {reasons}",
            reasons=fact("flow-left-out", wording.join([f"{len(codes)} ({why})" for why, codes in left_out]), "flow.stages"),
        ) if left_out else "",
        see=see(shown, "flow", "characteristics"),
    )  # fmt: skip
    if flow.follow_up and flow.follow_up.value is not None and evidence.risks:
        parts += prose(
            " Median follow-up, by the reverse Kaplan-Meier method, was {time}.",
            time=fact("follow-up", follow_up_words(flow.follow_up), "flow.follow_up"),
        )
    if flow.never_seen:
        never = fact("never-seen", wording.count(len(flow.never_seen), "case"), "flow.never_seen")
        parts += prose(" Never seen after surgery: {never}.", never=never)
    present, due = flow.core_complete
    if due:
        complete = f"{present:,} of {due:,} ({wording.percent(present / due)})"
        parts += prose(" Of the values that the audit needs most, {complete} were on record.",
                       complete=fact("core-complete", complete, "flow.core_complete"))  # fmt: skip
    if plan:
        parts += prose(" Another method was done than planned in {cases}.",
                       cases=fact("plan-changed", wording.count(len(plan), "case"), "case_mix.changed_plan"))  # fmt: skip
    return (
        Heading("Animals and operations", 2),
        Paragraph(parts),
        Paragraph((Ask("what a reader must know of these animals and wounds beyond the table"),)),
    )
