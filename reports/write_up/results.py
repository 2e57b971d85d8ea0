"""The first half of the results in prose: the cases, take, and time to healing."""

from collections.abc import Collection

from audit.analyses.healing import HealingCurve
from reports import wording
from reports.figures.labels import EXITS
from reports.prose import Ask, Block, Heading, Inline, Paragraph
from reports.sections.flow import follow_up_words
from reports.sections.healing import median_words
from reports.sections.planned_looks import tells_nothing
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose, see, share_known, within


def cases(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Which cases there were, how far they were followed and how complete their records are."""
    flow, plan = found.audit.flow, found.audit.case_mix.changed_plan
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
    if flow.follow_up and flow.follow_up.value is not None and found.risks:
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


def take(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Take at the protocol's threshold, and how much of the grafts was alive."""
    paragraphs = [
        Paragraph(took(found, i, shown) + _surface(found, group.species) + _alive(found, group.species))
        for i, group in enumerate(found.audit.take.overall)
    ]
    return (Heading("Take", 2), *(paragraphs or [paragraph("No free graft was laid, so take was not asked about.")]))


def took(found: Evidence, i: int, shown: Collection[str]) -> tuple[Inline, ...]:
    """How many grafts of the i-th species took."""
    answer, group = found.audit.take, found.audit.take.overall[i]
    return prose(
        "In {who}, {share} reached {threshold} take{see}.",
        who=within(group.species),
        share=share_known(found, f"take-{group.species}", f"take.overall.{i}", group, "free graft"),
        threshold=fact(f"take-{group.species}-threshold", f"{answer.threshold_pct:g} %", "take.threshold_pct"),
        see=see(shown, "take", "take-by-location", "take-every-graft"),
    )


def _surface(found: Evidence, species: str) -> tuple[Inline, ...]:
    """How many of the grafts that took had sloughed; nothing where none had."""
    for i, (name, sloughed, taken) in enumerate(found.audit.take.surface_only):
        if name == species and sloughed:
            words = fact(f"slough-{name}", f"{len(sloughed)} of {len(taken)}", f"take.surface_only.{i}")
            return prose(" Of the grafts counted as taken, {words} had lost the surface layer only.", words=words)
    return ()


def _alive(found: Evidence, species: str) -> tuple[Inline, ...]:
    for i, (name, percent) in enumerate(found.audit.take.percent):
        if name == species:
            n = len(percent.viable)
            listed = n < found.protocol.analysis.smallest_percentage
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


def healing(found: Evidence, shown: Collection[str]) -> tuple[Block, ...]:
    """Healed by the asked days, the median, and the other ends."""
    answer = found.audit.healing
    blocks: list[Block] = [
        Paragraph((
            *(part for k in range(len(curve.shares)) for part in healed_by(found, i, k)),
            *median(found, i),
            *_other_ends(found, curve, i, shown),
        ))
        for i, curve in enumerate(answer.overall)
    ]  # fmt: skip
    if answer.unconfirmed or answer.reopened:
        blocks.append(paragraph(
            "Healing was seen once only, without a later look to confirm it, in {once}; a wound seen healed was open again "
            "later in {again}.",
            once=fact("unconfirmed", wording.count(len(answer.unconfirmed), "case"), "healing.unconfirmed"),
            again=fact("reopened", wording.count(len(answer.reopened), "case"), "healing.reopened"),
        ))  # fmt: skip
    nothing = paragraph("No free graft was laid, so the time to its healing was not asked about.")
    return (Heading("Time to healing", 2), *(blocks or [nothing]))


def healed_by(found: Evidence, i: int, k: int) -> tuple[Inline, ...]:
    """How many of the i-th species had healed by the k-th asked day."""
    curve = found.audit.healing.overall[i]
    day, group, estimate = curve.shares[k]
    cases, stem, path = group.cases, f"healed-{curve.species}-{k + 1}", f"healing.overall.{i}.shares.{k}"
    where = (path, f"{path}.1.cases")
    estimated: tuple[Inline, ...] = ()
    if found.risks and tells_nothing(estimate):
        estimated = prose("; the share healed cannot be told")
    elif found.risks and cases.asked >= found.smallest and estimate.value is not None and estimate.value_to is not None:
        words = f"{wording.percent_range(estimate.value, estimate.value_to)} ({wording.share_interval(estimate)})"
        estimated = prose("; the estimated share healed is {share}", share=fact(f"{stem}-share", words, f"{path}.2"))
    elif found.risks:
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


def median(found: Evidence, i: int) -> tuple[Inline, ...]:
    """The median of the i-th species; nothing where cases were chosen for how they ended."""
    if not found.risks:
        return ()
    curve = found.audit.healing.overall[i]
    words = fact(f"median-{curve.species}", median_words(curve), f"healing.overall.{i}.median")
    return prose(" The median time to healing: {words}.", words=words)


def _other_ends(found: Evidence, curve: HealingCurve, i: int, shown: Collection[str]) -> tuple[Inline, ...]:
    lines = found.audit.healing.lines
    lines = lines[lines["case_code"].isin(curve.codes)]
    ends = lines["cause"].value_counts()
    words = [f"{ends[cause]} {told}" for cause, told in EXITS.items() if cause in ends]
    where = (f"healing.overall.{i}", "healing.lines")
    return prose(
        " Other ends of the wait: {ends}; not seen healed and not followed further: {open}{see}.",
        ends=fact(f"ends-{curve.species}", wording.join(words) if words else "none", *where),
        open=fact(f"open-{curve.species}", str(int(ends.get("censored", 0))), *where),
        see=see(shown, "healing", "healing-curve", "healing-ends", "healing-cases"),
    )
