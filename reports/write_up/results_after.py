"""The second half of the results in prose: complications, donor sites, bandages, hair, and what goes with what."""

from collections.abc import Collection

from reports import wording
from reports.figures.labels import label
from reports.prose import Block, Heading, Inline, Paragraph
from reports.sections.complications import QUESTIONS
from reports.sections.factors import factor_section
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see, share_known, within

WORSE = ("major_or_worse", "infection_recipient", "re_operated", "limb_lost_or_related_death")


def complications(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Any complication by species, then the graver ones in counts."""
    asked = dict(found.audit.complications.overall)["any"]
    blocks = [Paragraph(harmed(found, i, shown) + _graver(found, group.species)) for i, group in enumerate(asked)]
    return (Heading("Complications", 2), *(blocks or [paragraph("No case was asked about complications.")]))


def harmed(found: Evidence, i: int, shown: Collection[str]) -> tuple[Inline, ...]:
    """How many of the i-th species had a complication of any kind."""
    answer = found.audit.complications
    place = [question for question, _ in answer.overall].index("any")
    group = answer.overall[place][1][i]
    return prose(
        "In {who}, by {day}, {share} had a complication of any kind{see}.",
        who=within(group.species),
        day=fact(f"complication-{group.species}-day", wording.day(answer.by_day), "complications.by_day"),
        share=share_known(
            found, f"complication-{group.species}", f"complications.overall.{place}.1.{i}", group, "case"
        ),
        see=see(shown, "complications", "complication-list", "complication-shares"),
    )


def _graver(found: Evidence, species: str) -> tuple[Inline, ...]:
    parts: list[Inline] = []
    for n, (question, groups) in enumerate(found.audit.complications.overall):
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


def donor_and_bandages(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Donor sutures and complications, and how many bandage changes it took."""
    donor, bandages = found.audit.donor, found.audit.bandages
    blocks: list[Block] = []
    for i, group in enumerate(donor.sutures):
        name = group.species
        hurt = len(dict(donor.with_complication).get(name, ()))
        total = int((donor.sites["species"] == name).sum())
        blocks.append(paragraph(
            "In {who}, {share} had the sutures out on {days}; a complication of the donor site was recorded in {hurt}{see}.",
            who=within(name),
            share=share_known(found, f"sutures-{name}", f"donor.sutures.{i}", group, "donor site"),
            days=fact(f"sutures-{name}-days", wording.day_range(donor.sutures_from, donor.sutures_to), "donor"),
            hurt=fact(f"donor-hurt-{name}", f"{hurt} of {total}", "donor.with_complication", "donor.sites"),
            see=see(shown, "donor-bandage"),
        ))  # fmt: skip
    for i, (name, curve) in enumerate(bandages.mean):
        if not curve.day.size or not found.risks:
            continue
        ends = f"{wording.number(curve.low[-1], 1)} to {wording.number(curve.high[-1], 1)}"
        words = f"{wording.number(curve.mean[-1], 1)} ({wording.percent(curve.level)} interval {ends})"
        where = f"bandages.mean.{i}.1"
        blocks.append(paragraph(
            "In {who}, a case had had {mean} bandage changes on average by {day} ({animals}){see}.",
            who=within(name),
            mean=fact(f"changes-{name}", words, where),
            day=fact(f"changes-{name}-day", wording.day(curve.day[-1]), where),
            animals=fact(f"changes-{name}-n", wording.count(curve.animals, "animal"), where),
            see=see(shown, "donor-bandage", "bandage-phases", "bandage-mean"),
        ))  # fmt: skip
    nothing = paragraph("Neither a donor site nor a bandage change was on record.")
    return (Heading("Donor sites and bandage changes", 2), *(blocks or [nothing]))


def hair(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """How many were graded, the median grade by method group, and how far raters were blind."""
    answer = found.audit.scores
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


def factors(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """What goes with healing, take and hair: models that the data could bear, and why others were refused."""
    if not found.risks:
        return ()
    parts: list[Inline] = []
    for n, sentence in enumerate(factor_section(found.audit.factors).sentences, start=1):
        parts += [" " if parts else "", fact(f"factors-{n}", sentence, "factors")]
    see_table = see(shown, "factor-ratios")
    if see_table and any(model.ratios for model in found.audit.factors.models):
        parts += prose(" Ratios with their intervals are given{see}.", see=see_table)
    return (Heading("What goes with healing and take (exploratory)", 2), Paragraph(tuple(p for p in parts if p)))
