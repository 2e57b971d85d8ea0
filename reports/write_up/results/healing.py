"""Results: healed by the asked days, the median, and the other ends of the wait."""

from collections.abc import Collection

from audit.analyses.healing import HealingCurve
from reports import wording
from reports.figures.labels import EXITS
from reports.prose import Block, Heading, Inline, Paragraph
from reports.sections.healing import median_words
from reports.sections.planned_examinations import tells_nothing
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see, within


def healing_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Healed by the asked days, the median, and the other ends."""
    answer = evidence.audit.healing
    blocks: list[Block] = [
        Paragraph((
            *(inline for k in range(len(curve.shares)) for inline in healed_by(evidence, i, k)),
            *median(evidence, i),
            *_other_ends(evidence, curve, i, shown),
        ))
        for i, curve in enumerate(answer.overall)
    ]  # fmt: skip
    if answer.unconfirmed or answer.reopened:
        blocks.append(paragraph(
            "Healing was seen only once, without a later examination to confirm it, in {once}; a wound seen healed was open again "
            "later in {again}.",
            once=fact("unconfirmed", wording.count(len(answer.unconfirmed), "case"), "healing.unconfirmed"),
            again=fact("reopened", wording.count(len(answer.reopened), "case"), "healing.reopened"),
        ))  # fmt: skip
    nothing = paragraph("No free graft was laid, so the time to its healing was not asked about.")
    return (Heading("Time to healing", 2), *(blocks or [nothing]))


def healed_by(evidence: Evidence, i: int, k: int) -> tuple[Inline, ...]:
    """How many of the i-th species had healed by the k-th asked day."""
    curve = evidence.audit.healing.overall[i]
    day, group, estimate = curve.shares[k]
    cases, stem, path = group.cases, f"healed-{curve.species}-{k + 1}", f"healing.overall.{i}.shares.{k}"
    where = (path, f"{path}.1.cases")
    estimated: tuple[Inline, ...] = ()
    if evidence.risks and tells_nothing(estimate):
        estimated = prose("; the share healed cannot be told")
    elif (
        evidence.risks
        and cases.asked >= evidence.smallest
        and estimate.value is not None
        and estimate.value_to is not None
    ):
        words = f"{wording.percent_range(estimate.value, estimate.value_to)} ({wording.share_interval(estimate)})"
        estimated = prose("; the estimated share healed is {share}", share=fact(f"{stem}-share", words, f"{path}.2"))
    elif evidence.risks:
        words = wording.share_interval(estimate)
        estimated = prose("; too few for a percentage ({share})", share=fact(f"{stem}-share", words, f"{path}.2"))
    return prose(
        "{start}{day}, healing had surely been seen in {yes}, surely not in {no}, and could not be told in {unknown}{estimated}.",
        start=f"In {within(curve.species)}, by " if k == 0 else " By ",
        day=fact(f"{stem}-day", wording.day(day), path),
        yes=fact(f"{stem}-yes", f"{len(cases.sure_yes)} of {wording.count(cases.asked, 'free graft')}", *where),
        no=fact(f"{stem}-no", str(len(cases.sure_no)), *where),
        unknown=fact(f"{stem}-unknown", str(len(cases.cannot_tell)), *where),
        estimated=estimated,
    )


def median(evidence: Evidence, i: int) -> tuple[Inline, ...]:
    """The median of the i-th species; nothing where cases were chosen for how they ended."""
    if not evidence.risks:
        return ()
    curve = evidence.audit.healing.overall[i]
    words = fact(f"median-{curve.species}", median_words(curve), f"healing.overall.{i}.median")
    return prose(" The median time to healing: {words}.", words=words)


def _other_ends(evidence: Evidence, curve: HealingCurve, i: int, shown: Collection[str]) -> tuple[Inline, ...]:
    ends = evidence.audit.healing.lines_of(curve)["cause"].value_counts()
    words = [f"{ends[cause]} {told}" for cause, told in EXITS.items() if cause in ends]
    where = (f"healing.overall.{i}", "healing.lines")
    return prose(
        " Other ends of the wait: {ends}; not seen healed and not followed further: {open}{see}.",
        ends=fact(f"ends-{curve.species}", wording.join(words) if words else "none", *where),
        open=fact(f"open-{curve.species}", str(int(ends.get("censored", 0))), *where),
        see=see(shown, "healing", "healing-curve", "healing-ends", "healing-cases"),
    )
