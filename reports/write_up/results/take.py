"""Results: take at the protocol's threshold, and how much of the grafts was alive."""

from collections.abc import Collection

from reports import wording
from reports.prose import Block, Heading, Inline, Paragraph
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see, share_known, within


def take_results(evidence: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Take at the protocol's threshold, and how much of the grafts was alive."""
    paragraphs = [
        Paragraph(took(evidence, i, shown) + _surface(evidence, group.species) + _alive(evidence, group.species))
        for i, group in enumerate(evidence.audit.take.overall)
    ]
    return (Heading("Take", 2), *(paragraphs or [paragraph("No free graft was laid, so take was not asked about.")]))


def took(evidence: Evidence, i: int, shown: Collection[str]) -> tuple[Inline, ...]:
    """How many grafts of the i-th species took."""
    answer, group = evidence.audit.take, evidence.audit.take.overall[i]
    return prose(
        "In {who}, {share} reached {threshold} take{see}.",
        who=within(group.species),
        share=share_known(evidence, f"take-{group.species}", f"take.overall.{i}", group, "free graft"),
        threshold=fact(f"take-{group.species}-threshold", f"{answer.threshold_pct:g} %", "take.threshold_pct"),
        see=see(shown, "take", "take-by-location", "take-every-graft"),
    )


def _surface(evidence: Evidence, species: str) -> tuple[Inline, ...]:
    """How many of the grafts that took had sloughed; nothing where none had."""
    for i, (name, sloughed, taken) in enumerate(evidence.audit.take.surface_only):
        if name == species and sloughed:
            words = fact(f"slough-{name}", f"{len(sloughed)} of {len(taken)}", f"take.surface_only.{i}")
            return prose(" Of the grafts counted as taken, {words} had lost the surface layer only.", words=words)
    return ()


def _alive(evidence: Evidence, species: str) -> tuple[Inline, ...]:
    for i, (name, percent) in enumerate(evidence.audit.take.percent):
        if name == species:
            n = len(percent.viable)
            listed = n < evidence.protocol.analysis.smallest_percentage
            words = (
                f"{wording.join([wording.number_range(*pair) for pair in sorted(zip(percent.viable, percent.viable_to, strict=True))])} %"
                if listed
                else f"{wording.number_range(*percent.median)} % (IQR {wording.number_range(*percent.lower_quartile)} to {wording.number_range(*percent.upper_quartile)} %; n = {n})"
            )
            what = (
                " Percent of the graft alive, each: {words}."
                if listed
                else " Median percent of the graft alive was {words}."
            )
            return prose(what, words=fact(f"alive-{name}", words, f"take.percent.{i}.1"))
    return ()
