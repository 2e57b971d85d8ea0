"""Whether the days to healing hang on examinations that trouble prompted: the same estimates from planned examinations only."""

from audit.analyses.planned_examinations import PlannedExaminations
from audit.results import Estimate
from reports import wording
from reports.document import Column, Table
from reports.figures.labels import SPECIES


def planned_sentences(answers: tuple[PlannedExaminations, ...]) -> tuple[str, ...]:
    """One sentence a species: how many examinations were prompted, and the median from planned examinations only."""
    return tuple(_sentence(answer) for answer in answers)


def _sentence(answer: PlannedExaminations) -> str:
    planned, prompted, by_chance, unknown = answer.examinations
    species, total = SPECIES[answer.species], sum(answer.examinations)
    if answer.median_planned is None:
        return f"{species}: no examination is on record as planned, so whether prompted examinations matter cannot be told."
    more = [
        f"{number} {words}"
        for number, words in ((by_chance, "when it came for something else"), (unknown, "not on record"))
        if number
    ]
    others = f" ({'; '.join(more)})" if more else ""
    alone, from_all = median_words(answer.median_planned), median_words(answer.median_all)
    compared = f"is the same: {alone}" if alone == from_all else f"is {alone}; from all looks it is {from_all}"
    return (
        f"{species}: of {wording.count(total, 'examination')}, {planned} were planned and {prompted} prompted by trouble{others}. From "
        f"planned examinations only the median {compared}."
    )


def planned_table(answers: tuple[PlannedExaminations, ...]) -> Table | None:
    """Two rows a species: all examinations, and planned examinations only."""
    with_planned = [answer for answer in answers if answer.by_planned is not None and answer.median_planned is not None]
    if not with_planned:
        return None
    days = with_planned[0].days
    rows = []
    for answer in with_planned:
        assert answer.by_planned is not None
        assert answer.median_planned is not None
        for words, examinations, shares, median in (
            ("all", sum(answer.examinations), answer.by_all, answer.median_all),
            ("planned only", answer.examinations[0], answer.by_planned, answer.median_planned),
        ):
            cells = (share_words(estimate) for estimate in shares)
            rows.append((SPECIES[answer.species], words, str(examinations), *cells, median_words(median)))
    return Table(
        "healing-planned",
        "Time to healing from all examinations, and from planned examinations only",
        (
            Column("Free grafts"), Column("Examinations used"), Column("Examinations", align="right"),
            *(Column(f"Healed by day {day} (interval)") for day in days), Column("Median day (interval)"),
        ),
        tuple(rows),
        (
            "Sicker wounds are looked at more often, and looked at when something is wrong: an answer that moves between the "
            "two rows hangs on such examinations. Fewer examinations leave wider ranges; that alone is no difference.",
        ),
    )  # fmt: skip


def median_words(median: Estimate) -> str:
    """The median day and its interval, or that the visits say nothing of it."""
    nothing = not median.value and median.value_to is None and not median.low and median.high is None
    return "cannot be told" if nothing else wording.time(median)


def tells_nothing(share: Estimate) -> bool:
    """True where a share may be anything from none to all, so that a range would only look like a result."""
    return (share.value, share.value_to, share.low, share.high) == (0, 1, 0, 1)


def share_words(estimate: Estimate) -> str:
    """A share read off the curve and its interval, or that the visits say nothing of it."""
    if tells_nothing(estimate):
        return "cannot be told"
    if estimate.value is None or estimate.value_to is None:
        return f"unknown ({wording.ends(estimate)})"
    return f"{wording.percent_range(estimate.value, estimate.value_to)} ({wording.ends(estimate)})"
