"""Title page, structured abstract and introduction; the author's own parts are marked."""

from reports import wording
from reports.prose import Ask, Block, Fact, Heading, Inline, PageBreak, Paragraph
from reports.write_up.evidence import Evidence
from reports.write_up.methods import design_words
from reports.write_up.phrases import fact, paragraph, prose, within
from reports.write_up.results.complications import harmed
from reports.write_up.results.healing import healed_by, median
from reports.write_up.results.take import took


def title_page(evidence: Evidence) -> tuple[Block, ...]:
    """Title with the design in it, and what only the authors know."""
    totals = evidence.audit.case_mix.totals
    words = wording.join([wording.count(animals, name) for name, _, animals in totals])
    return (
        Paragraph((
            "Outcome of skin grafts and flaps in dogs and cats: ",
            fact("title-design", f"{design_words(evidence)} ({words})", "protocol.protocol", "case_mix.totals"),
        ), "title"),
        Paragraph((Ask("a title of your own; keep the design in it"),)),
        Paragraph((Ask("authors, degrees, affiliations, corresponding author with address"),)),
        Paragraph((Ask("running title, key words, word count"),)),
        Paragraph((Ask("funding, conflicts of interest, earlier presentation, who did what"),)),
        PageBreak(),
    )  # fmt: skip


def abstract(evidence: Evidence) -> tuple[Block, ...]:
    """Objective, design, animals, methods, results with their numbers, and the author's conclusion."""
    mix, protocol = evidence.audit.case_mix, evidence.protocol
    numbers = wording.join([f"{wording.count(animals, name)}" for name, _, animals in mix.totals])
    return (
        Heading("Abstract"),
        paragraph("Objective: {question} {ask}", question=fact("abstract-question", protocol.protocol.question, "protocol.protocol.question"),
                  ask=Ask("as a statement")),
        paragraph("Design: {design}.", design=fact("abstract-design", wording.sentence(design_words(evidence))[:-1], "protocol.protocol")),
        paragraph("Animals: {animals}.", animals=fact("abstract-animals", numbers, "case_mix.totals")),
        paragraph(
            "Methods: {take} Time to healing was read between visits, and cases that cannot be told were kept as such.",
            take=fact("abstract-methods", f"Take was {protocol.take.threshold_pct:g} % or more of the graft alive at day "
                      f"{protocol.take.from_day} to {protocol.take.to_day}.", "protocol.take"),
        ),
        Paragraph(("Results: ", *_results(evidence))),
        Paragraph(("Clinical relevance: ", Ask("what this means for practice, in a sentence no stronger than the intervals"))),
        PageBreak(),
    )  # fmt: skip


def _results(evidence: Evidence) -> tuple[Inline, ...]:
    """The few sentences of the results that an abstract has room for, under names of their own."""
    told = [took(evidence, i, ()) for i in range(len(evidence.audit.take.overall))]
    for i in range(len(evidence.audit.healing.overall)):
        told.append(healed_by(evidence, i, 0) + median(evidence, i))
    told += [harmed(evidence, i, ()) for i in range(len(dict(evidence.audit.complications.overall)["any"]))]
    parts = [part for sentence in told for part in (*sentence, " ")]
    return tuple(
        fact(f"abstract-{part.id}", part.text, part.source) if isinstance(part, Fact) else part for part in parts
    )


def introduction(evidence: Evidence) -> tuple[Block, ...]:
    """Prompts for what is known and why now; the question and the species, as the protocol has them."""
    species = wording.join([within(name) for name, _, _ in evidence.audit.case_mix.totals])
    return (
        Heading("Introduction"),
        Paragraph((Ask("what is known, from papers you have read in full; the audit holds figures read in abstracts only"),)),
        Paragraph((Ask("why the question matters now, and what is not known"),)),
        Paragraph(prose(
            "The question of this study was: {question} It concerns {species}. {ask}",
            question=fact("introduction-question", evidence.protocol.protocol.question, "protocol.protocol.question"),
            species=species, ask=Ask("hypotheses, or say that there were none"),
        )),
    )  # fmt: skip
