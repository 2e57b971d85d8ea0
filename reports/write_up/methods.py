"""Materials and methods, from the protocol and from the log of what ran."""

from datetime import date

from audit.methods import catalogue
from reports import wording
from reports.prose import Ask, Block, Cite, Heading, Inline, Paragraph
from reports.write_up.evidence import Evidence
from reports.write_up.phrases import fact, paragraph, prose

FOUND = {
    "prospective_log": "a log kept as operations were done", "theatre_list": "the theatre list",
    "record_search": "a search of the records", "billing_search": "a search of the bills", "recall": "recall",
}  # fmt: skip
ETHICS = {
    "approved": "Approval was given by an ethics or animal-care committee",
    "exempt_by_committee": "A committee exempted the work from review",
    "not_required_audit": "The work was an audit of routine care, for which no approval was sought",
    "pending": "Approval is pending; nothing may be submitted before it is given",
}
SOFTWARE = ("duckdb", "numpy", "pandas", "scipy", "statsmodels")
QUESTIONS = {
    "graft": "the question was whether the first graft healed: another operation, amputation or death ended the wait",
    "wound": "the question was whether the wound closed, however many operations it took; amputation or death ended the wait",
    "animal": "the question was whether the animal was alive with a kept, healed limb",
}


def design_words(evidence: Evidence) -> str:
    """The kind of study in two or three words, from how cases were chosen and found."""
    about = evidence.protocol.protocol
    if not evidence.risks:
        return "case series, cases chosen for how they ended"
    time = "prospectively recorded" if about.case_finding == "prospective_log" else "retrospective"
    return (
        f"{time} {'single-group cohort' if about.purpose == 'cohort' else 'case series of all operations of a period'}"
    )


def methods(evidence: Evidence) -> tuple[Block, ...]:
    """The part "Materials and methods"."""
    return (
        Heading("Materials and methods"),
        Heading("Design and cases", 2),
        *_cases(evidence),
        Heading("Outcomes", 2),
        *_outcomes(evidence),
        Heading("Data", 2),
        *_data(evidence),
        Heading("Statistical methods", 2),
        *_statistics(evidence),
    )


def _whole(identifier: str, text: str, *sources: str) -> Inline:
    """A sentence that follows from the protocol as a whole."""
    return fact(identifier, wording.sentence(text), *sources)


def _cases(evidence: Evidence) -> tuple[Block, ...]:
    about, period = evidence.protocol.protocol, evidence.audit.period
    unit = (
        "the first reconstruction of each animal" if evidence.protocol.analysis.unit == "first_per_animal"
        else "every reconstruction, clustered by animal"
    )  # fmt: skip
    return (
        Paragraph((
            _whole("method-design", f"this is a {design_words(evidence)}", "protocol.protocol"), " ",
            _whole("method-finding", f"cases were found by {FOUND[about.case_finding]}", "protocol.protocol.case_finding"), " ",
            _whole("method-period", f"operations done {_months(period.start, period.end)} counted; watching "
                   f"ended on {_date(period.data_lock)}", "period"), " ",
            _whole("method-eligible", f"eligible was: {'; '.join(about.eligible)}; left out was: "
                   f"{'; '.join(about.not_eligible) or 'nothing'}", "protocol.protocol"), " ",
            _whole("method-unit", f"the unit of analysis was {unit}", "protocol.analysis.unit"), " ",
            _whole("method-frozen", _frozen(evidence), "protocol.frozen", "protocol.protocol.version"),
        )),
        *((Paragraph((_whole("method-chosen", "as cases were chosen for how they ended, no risk, rate, percentage of outcomes or "
           "comparison is given", "protocol.protocol.series"),)),) if not evidence.risks else ()),
        Paragraph((Ask("the practice or hospital, its referral status, who operated, and how owners were told and followed"),)),
        Paragraph((
            _whole("method-ethics", f"{ETHICS[about.ethics]} {about.ethics_reference}".strip(), "protocol.protocol"), " ",
            Ask("the committee's name and number, and what owners agreed to: treatment, use of records, photographs, publication"),
        )),
    )  # fmt: skip


def _months(start: str, end: str) -> str:
    return f"in {_month(start)}" if start == end else f"from {_month(start)} to {_month(end)}"


def _month(text: str) -> str:
    return date.fromisoformat(f"{text}-01").strftime("%B %Y")


def _date(day: date) -> str:
    return f"{day.day} {day.strftime('%B %Y')}"


def _frozen(evidence: Evidence) -> str:
    frozen = evidence.protocol.frozen
    if frozen is None:
        return "definitions were not frozen before the results were seen"
    when = "before or on the day" if evidence.audit.frozen_first else "only after the day"
    return (
        f"definitions were frozen on {_date(frozen.on)} (protocol version {evidence.protocol.protocol.version}), {when} the first "
        "cases were loaded"
    )


def _outcomes(evidence: Evidence) -> tuple[Block, ...]:
    p = evidence.protocol
    also = wording.join([f"{pct:g}" for pct in p.take.also_pct])
    return (
        Paragraph((
            "Day zero was the day of surgery. ",
            _whole("method-take", f"take was the percentage of the current graft outline that was alive through its full thickness at "
                   f"the visit nearest day {p.take.day} among days {p.take.from_day} to {p.take.to_day}; loss of the epidermis alone was not "
                   f"loss of the graft; success was {p.take.threshold_pct:g} % or more, with {also} % as other thresholds; a graft not "
                   "seen in those days had an unknown take", "protocol.take"), " ",
            _whole("method-healed", "healed meant complete epithelialisation of the whole defect, seen by a professional or on a "
                   f"photograph; an examination {p.healing.confirm_after} days or more later confirmed it; each case gives the last day seen "
                   "open and the first day seen healed", "protocol.healing"), " ",
            _whole("method-question", QUESTIONS[p.healing.question], "protocol.healing.question"), " ",
            _whole("method-complications", f"complications were counted by day {p.complications.by_day}, by case, graded by the "
                   "treatment they needed: minor (none, or a bandage), major (drugs, drainage, sedation, further surgery), catastrophic "
                   "(loss of the limb or related death)", "protocol.complications"), " ",
            _whole("method-hair", f"hair cover was graded in five steps and looks in four from day {p.hair.from_day} to day {p.hair.to_day}, on "
                   "scales of our own that are not validated; of several raters the median counted, ties to the lower grade",
                   "protocol.hair"), " ",
            _whole("method-donor", f"donor sutures were expected out from day {p.donor.sutures_from} to day {p.donor.sutures_to}; "
                   "absorbable sutures did not count", "protocol.donor"),
        )),
        Paragraph((Ask("who judged each outcome, from what, and whether blind to the method"),)),
    )  # fmt: skip


def _data(evidence: Evidence) -> tuple[Block, ...]:
    loads = evidence.audit.fingerprints
    last = loads[-1][:16] if loads else "none"
    return (
        Paragraph((
            "Visit records were checked on entry and kept without names, numbers, addresses or calendar days. ",
            _whole("method-loads", f"they came in {wording.count(len(loads), 'load')}; the fingerprint of the last is {last}",
                   "fingerprints"), " ",
            Ask("how records were kept and by whom; how areas were measured"),
        )),
    )  # fmt: skip


def _statistics(evidence: Evidence) -> tuple[Block, ...]:
    analysis, level = evidence.protocol.analysis, wording.percent(evidence.protocol.analysis.level)
    first = prose(
        "Dogs and cats were never pooled. Each yes-or-no question was first answered as surely yes, surely no, or cannot be "
        "told; cases that cannot be told were kept, and bounds show what they could change. {small}",
        small=_whole("method-small", f"fewer than {analysis.smallest_percentage} cases are given as counts; curves need "
                     f"{analysis.smallest_curve} animals, agreement {analysis.smallest_photographs} photographs, a model five events "
                     "for each factor", "protocol.analysis"),
    )  # fmt: skip
    if not evidence.risks:
        return (Paragraph(first), *_software(evidence))
    steps: list[tuple[Inline, ...]] = []
    for sentence in catalogue().sentences:
        if evidence.ran(*sentence.methods):
            steps.append(prose(sentence.says + "{cited}.", cited=_cited(sentence.sources)))
    closing = prose(
        "{primary} {level} Nothing was imputed and no value was taken out as an outlier. Tests were two-sided; none was made of "
        "differences at baseline, and intervals, not tests, carry the results. {ask}",
        ask=Ask("the smallest difference that would matter, and what each model supposes"),
        primary=_whole("method-primary", "the primary outcome was "
                       + ("take" if analysis.primary_outcome == "take" else "time to healing")
                       + "; every other result is exploratory", "protocol.analysis.primary_outcome"),
        level=_whole("method-level", f"intervals are at {level}", "protocol.analysis.level"),
    )  # fmt: skip
    body = [inline for step in steps for inline in (*step, " ")]
    return (Paragraph(first), Paragraph(tuple(body)), Paragraph(closing), *_software(evidence))


def _software(evidence: Evidence) -> tuple[Block, ...]:
    words = ", ".join(
        f"{name.capitalize() if name == 'takehold' else name} {number}" for name, number in evidence.software
    )
    return (paragraph(
        "Computing was done with {software}{cited}, {seed}; the same store, protocol and seed give the same numbers.",
        cited=_cited(SOFTWARE),
        software=fact("method-software", words, "software"),
        seed=fact("method-seed", f"random seed {evidence.protocol.analysis.seed}", "protocol.analysis.seed"),
    ),)  # fmt: skip


def _cited(keys: tuple[str, ...]) -> tuple[Inline, ...]:
    parts: list[Inline] = []
    for key in keys:
        parts += ["; " if parts else " (", Cite(key)]
    return (*parts, ")") if parts else ()
