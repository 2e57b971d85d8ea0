"""The section on time to healing."""

from audit.analyses.healing import HEALED, WHOLE, HealingAnswer, HealingCurve
from audit.analyses.planned_examinations import PlannedExaminations
from audit.protocol import Protocol
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import EXITS, SPECIES, label
from reports.sections.planned_examinations import median_words as _day_words
from reports.sections.planned_examinations import planned_sentences, share_words, tells_nothing
from reports.sections.shares import bounds_cell, share_ledger

QUESTIONS = {
    "graft": "this graft healed; another operation, amputation or death ends the wait",
    "wound": "the wound closed, however many operations it took; amputation or death ends the wait",
    "animal": "the animal is alive with a kept, healed limb",
}


NO_GRAFT = "There is no free graft among these operations, so healing of free grafts is not asked about."


def healing_sentences(answer: HealingAnswer, smallest: int) -> tuple[str, ...]:
    """One sentence a species: the share of grafts healed by the first asked day, with counts, and the median."""
    sentences = []
    for curve in answer.overall:
        day, group, estimate = curve.shares[0]
        cases = group.cases
        if tells_nothing(estimate):
            estimated = "the share healed cannot be told"
        elif cases.asked < smallest:
            estimated = f"too few for a percentage ({wording.share_interval(estimate)})"
        else:
            estimated = (
                f"the estimate is {_share(estimate.value, estimate.value_to)} ({wording.share_interval(estimate)})"
            )
        sentences.append(
            f"{SPECIES[curve.species]}: by day {day}, {len(cases.sure_yes)} of {wording.count(cases.asked, 'free graft')} had "
            f"surely healed, {len(cases.sure_no)} surely not, and {len(cases.cannot_tell)} cannot be told; {estimated}. Median: "
            f"{median_words(curve)}."
        )
    return tuple(sentences)


def median_words(curve: HealingCurve) -> str:
    """The median day and its interval, or that the visits say nothing of it."""
    return _day_words(curve.median)


def _share(low: float | None, high: float | None) -> str:
    return "unknown" if low is None or high is None else wording.percent_range(low, high)


def healing_section(
    answer: HealingAnswer, protocol: Protocol, planned: tuple[PlannedExaminations, ...] = ()
) -> Section:
    """The asked days with three counts each, the median, and what planned examinations alone would give."""
    few = wording.join(
        [
            f"{SPECIES[s].lower()}, {label('method_group', g)} ({wording.count(n, 'animal')})"
            for s, g, n in answer.too_few
        ]
    )
    return Section(
        id="healing",
        title="Time to healing",
        question="By when are our grafts healed, and how do we know?",
        sentences=(*(healing_sentences(answer, protocol.analysis.smallest_percentage) or (NO_GRAFT,)), *planned_sentences(planned)),
        ledgers=(
            *(
                share_ledger(group, "", f"Healed by day {day}", ("healed", "not healed"))
                for curve in answer.overall
                for day, group, _ in curve.shares
            ),
            Ledger("Healing seen only once, or wound open again later", (
                (f"not confirmed {protocol.healing.confirm_after} days later", answer.unconfirmed),
                ("seen open again", answer.reopened),
            )),
        ),
        remarks=(
            f"Healed means: complete epithelialisation seen by a professional or on a photograph. The question asked: "
            f"{QUESTIONS[answer.question]}.",
            "A wound heals between two visits, so each case gives two days, not one. The curve is unknown inside its boxes; "
            "no line is drawn there. Taking the last visit, or the first healed visit, as the day of healing gives wrong answers.",
            *((f"No curve of their own, as too few: {few}.",) if answer.too_few else ()),
            "Method groups are described, not compared: the wound decided the method.",
        ),
    )  # fmt: skip


def curve_name(curve: HealingCurve) -> str:
    """Species and kind of graft: "Dogs: free grafts"."""
    return f"{SPECIES[curve.species]}: {label('method_group', curve.group)}"


def healed_by_day_table(answer: HealingAnswer, protocol: Protocol) -> Table:
    """A row a curve and asked day: healed, not healed, cannot tell, and the estimate."""
    rows = []
    for curve in (*answer.overall, *answer.by_method):
        for day, group, estimate in curve.shares:
            cases = group.cases
            counts = (len(cases.sure_yes), len(cases.sure_no), len(cases.cannot_tell))
            rows.append((
                curve_name(curve), str(day), *map(str, counts), bounds_cell(cases, protocol.analysis.smallest_percentage),
                share_words(estimate),
            ))  # fmt: skip
    counts_heads = ("By day", "Healed", "Not healed", "Cannot tell")
    return Table(
        "healed-by-day",
        "Healed by the asked days",
        (
            Column("Group"), *(Column(h, align="right") for h in counts_heads), Column("Bounds"),
            Column(f"Estimate ({wording.percent(protocol.analysis.level)} interval)"),
        ),
        tuple(rows),
        (
            "Estimate: from all cases at once, with those that cannot be told; a range where the visits leave it open. "
            "Interval by profile likelihood.",
        ),
    )  # fmt: skip


def median_days_table(answer: HealingAnswer) -> Table:
    """A row a curve: the median day, and the mean days to the horizon."""
    return Table(
        "median-days",
        "Day by which half had healed, and mean days to healing",
        (
            Column("Group"), Column("Cases", align="right"), Column("Animals", align="right"), Column("Median day (interval)"),
            Column(f"Mean days, counted to day {answer.horizon} (interval)"),
        ),
        tuple(
            (curve_name(c), str(len(c.codes)), str(c.animals), median_words(c),
             _no_mean(c) if c.mean_days is None else _mean_words(c.mean_days, answer.horizon))
            for c in (*answer.overall, *answer.by_method)
        ),
        (
            "The median is a range where visits leave it open, and not reached where fewer than half were seen to heal. In the mean a "
            f"case that did not heal counts {answer.horizon} days, whether it stayed open, was operated on again, or was lost to another end.",
        ),
    )  # fmt: skip


def _no_mean(curve: HealingCurve) -> str:
    return "too few animals" if curve.group == WHOLE else "not for a kind of graft"


def _mean_words(mean: Estimate, horizon: int) -> str:
    nothing = (mean.value or 0) <= 0 and mean.value_to is not None and mean.value_to >= horizon
    return "cannot be told" if nothing else wording.amount(mean)


def ends_table(answer: HealingAnswer, protocol: Protocol) -> Table:
    """A row a curve and end: the cumulative incidence by the horizon."""
    day = protocol.healing.horizon
    rows = []
    for curve in (*answer.overall, *answer.by_method):
        for i, cause in enumerate(curve.causes, start=HEALED):
            low, high = curve.incidence.incidence(i, day)
            rows.append(
                (
                    curve_name(curve),
                    "healed" if cause == "healed" else EXITS[cause],
                    "cannot be told" if (low, high) == (0, 1) else wording.percent_range(low, high),
                )
            )
    return Table(
        "ends-by-horizon",
        f"How the wait had ended by day {day}",
        (Column("Group"), Column("End"), Column("Share", align="right")),
        tuple(rows),
        (
            "Cumulative incidence: an animal that left by another end can no longer heal, and is not counted as if it might.",
        ),
    )
