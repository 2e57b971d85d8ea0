"""What owners think of the look: a sentence and two tables, apart from the grades that vets gave."""

from collections import Counter

from audit.analyses.owners import ALL, FEWEST_MARKS, MarkedGroup, OwnerMarks
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Table
from reports.figures.labels import SPECIES, label

NOTE = "Described, not a comparison of methods: the methods were used for different wounds. Owners knew what was done."


def owner_sentences(owners: tuple[OwnerMarks, ...]) -> tuple[str, ...]:
    """One sentence a species with any mark: how many owners marked, and their median with its interval."""
    return tuple(
        f"{SPECIES[marks.species]}: owners' own mark of the look, 0 to 10, is on record for {len(marks.groups[0].marks)} of "
        f"{wording.count(marks.asked, 'case')}; median {_median(marks.groups[0].median)}. It stands apart from the grades above."
        for marks in owners
        if marks.groups
    )


def owner_mark_table(owners: tuple[OwnerMarks, ...]) -> Table | None:
    """Every mark by species and method; None without marks."""
    marked = [marks for marks in owners if marks.groups]
    if not marked:
        return None
    rows = tuple(
        (SPECIES[marks.species], _name(group.group), str(len(group.marks)), _short(group.median), _listed(group))
        for marks in marked
        for group in (marks.groups if len(marks.groups) > 2 else marks.groups[1:])
    )
    return Table(
        "owner-marks",
        "The look as owners mark it, 0 to 10 (higher is better)",
        (
            Column("Species"), Column("Method"), Column("Marks", align="right"), Column("Median (interval)"),
            Column("Every mark (how often)"),
        ),
        rows,
        (
            f"In brackets: {wording.percent(marked[0].groups[0].median.level)} interval, by the sign test.",
            "An owner's mark is one opinion of one animal, unvalidated; owners and vets often differ, so neither stands in for "
            "the other. " + NOTE,
            *(f"{SPECIES[m.species]} without a mark that counts: {_reasons(m)}." for m in marked if m.reasons),
        ),
    )  # fmt: skip


def owner_ledgers(owners: tuple[OwnerMarks, ...]) -> tuple[Ledger, ...]:
    """The cases behind each mark."""
    return tuple(
        Ledger(f"Owners' marks of look: {SPECIES[marks.species]}", tuple(
            (f"{_name(group.group)}, {mark:g}", tuple(c for c, m in zip(group.cases, group.marks, strict=True) if c and m == mark))
            for group in marks.groups[1:]
            for mark in dict.fromkeys(group.marks)
        ))
        for marks in owners
        if marks.groups
    )  # fmt: skip


def owner_difference_table(owners: tuple[OwnerMarks, ...]) -> Table:
    """The differences of method groups with marks enough; no row where there are none."""
    return Table(
        "owner-differences",
        "How far owners' marks lie apart, between two methods",
        (Column("Species"), Column("Methods"), Column("Marks, first less second (interval)"), Column("Marks", align="right")),
        tuple(
            (SPECIES[marks.species], f"{_name(a)} less {_name(b)}", wording.amount(e), str(e.denominator))
            for marks in owners if marks.groups
            for a, b, e in marks.shifts
        ),
        (
            f"The middle one of all differences (Hodges-Lehmann); only methods with {FEWEST_MARKS} marks or more. Exploratory. "
            + NOTE,
        ),
    )  # fmt: skip


def _name(group: str) -> str:
    return "all methods" if group == ALL else label("method_group", group)


def _median(median: Estimate) -> str:
    """The median and its interval, in the half steps that a median of whole marks has."""
    ends = [end for end in (median.low, median.value, median.high) if end is not None]
    return wording.amount(median, places=0 if all(end.is_integer() for end in ends) else 1)


def _short(median: Estimate) -> str:
    """The same for a column whose note tells the level."""
    assert median.value is not None
    low, value, high = ("" if end is None else f"{end:g}" for end in (median.low, median.value, median.high))
    return f"{value} ({low} to {high})" if low and high else f"{value} (too few for an interval)"


def _listed(group: MarkedGroup) -> str:
    return ", ".join(
        f"{mark:g} ({times})" if times > 1 else f"{mark:g}" for mark, times in Counter(group.marks).items()
    )


def _reasons(marks: OwnerMarks) -> str:
    words = {"no rating": "no mark on record", "no value": "no mark on record"}
    return "; ".join(f"{number} {words.get(reason, reason)}" for reason, number in marks.reasons)
