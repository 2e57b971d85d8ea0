"""Results: hair grades, blinding, and where raters' agreement stands."""

from collections.abc import Collection

from reports import wording
from reports.figures.labels import label
from reports.prose import Block, Heading
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see, within


def score_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """How many were graded, the median grade by method group, and how far raters were blind."""
    answer = evidence.audit.scores
    blocks: list[Block] = []
    for i, item in enumerate(answer.items):
        if item.item == "hair":
            blocks.append(paragraph(
                "In {who}, hair cover was graded from {day} on in {scored} cases; median grade {medians}{see}.",
                who=within(item.species),
                day=fact(f"hair-{item.species}-day", wording.day(answer.from_day), "scores.from_day"),
                scored=fact(f"hair-{item.species}-n", f"{item.scored} of {item.asked}", f"scores.items.{i}"),
                medians=fact(f"hair-{item.species}-medians", _medians(item.medians), f"scores.items.{i}"),
                see=see(shown, "score-hair", "scores-hair"),
            ))  # fmt: skip
    (blinded, known), unknown = answer.blinded, answer.blinding_unknown
    if known or unknown:
        words = f"{blinded:,} of {wording.count(known, 'rating')}"
        more = fact("blinding-unknown", wording.count(unknown, "rating"), "scores.blinding_unknown") if unknown else ""
        agreed = see(shown, "score-agreement", "measure-agreement")
        blocks.append(paragraph(
            "{counted}{unknown}{agreed}.",
            counted=prose("{words} came from raters blind to the method", words=fact("blinded", words, "scores.blinded"))
            if known else "",
            unknown=prose("{start}{more}", start="; not on record for " if known else
                          "Whether raters were blind to the method is not on record for ", more=more) if unknown else "",
            agreed=prose("; how far raters agreed is told apart{see}", see=agreed) if agreed else "",
        ))  # fmt: skip
    return (
        Heading("Hair and looks", 2),
        *(blocks or [paragraph("No hair grade could be used.")]),
        *(
            [paragraph("Every case stands in a line of its own{see}.", see=listed)]
            if (listed := see(shown, "case-lines"))
            else []
        ),
    )


def _medians(medians: tuple[tuple[str, float, int], ...]) -> str:
    return wording.join([
        f"{wording.number(grade, 0 if grade == int(grade) else 1)} for {label('method_group', group)} (n = {cases})"
        for group, grade, cases in medians
    ])  # fmt: skip
