"""Results: complications of any kind, and the graver ones."""

from collections.abc import Collection

from reports import wording
from reports.prose import Block, Heading, Inline, Paragraph
from reports.sections.complications import QUESTIONS
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see, share_known, within

WORSE = ("major_or_worse", "infection_recipient", "re_operated", "limb_lost_or_related_death")


def complication_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Any complication by species, then the graver ones in counts."""
    asked = dict(evidence.audit.complications.overall)["any"]
    blocks = [Paragraph(harmed(evidence, i, shown) + _graver(evidence, group.species)) for i, group in enumerate(asked)]
    return (Heading("Complications", 2), *(blocks or [paragraph("No case was asked about complications.")]))


def harmed(evidence: Evidence, i: int, shown: Collection[str]) -> tuple[Inline, ...]:
    """How many of the i-th species had a complication of any kind."""
    answer = evidence.audit.complications
    place = [question for question, _ in answer.overall].index("any")
    group = answer.overall[place][1][i]
    return prose(
        "In {who}, by {day}, {share} had a complication of any kind{see}.",
        who=within(group.species),
        day=fact(f"complication-{group.species}-day", wording.day(answer.by_day), "complications.by_day"),
        share=share_known(
            evidence, f"complication-{group.species}", f"complications.overall.{place}.1.{i}", group, "case"
        ),
        see=see(shown, "complications", "complication-list", "complication-shares"),
    )


def _graver(evidence: Evidence, species: str) -> tuple[Inline, ...]:
    parts: list[Inline] = []
    for n, (question, groups) in enumerate(evidence.audit.complications.overall):
        for j, group in enumerate(groups):
            if question in WORSE and group.species == species and group.cases.asked:
                unknown = f" ({len(group.cases.cannot_tell)} cannot be told)" if group.cases.cannot_tell else ""
                words = f"{len(group.cases.sure_yes)} of {group.cases.asked}{unknown}"
                parts += prose(
                    "{start}{question} in {count}",
                    start=", " if parts else " On record for sure: ",
                    question=QUESTIONS[question],
                    count=fact(
                        f"{question.replace('_', '-')}-{species}", words, f"complications.overall.{n}.1.{j}.cases"
                    ),
                )
    return (*parts, ".") if parts else ()
