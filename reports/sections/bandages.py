"""The section on bandage changes."""

from audit.analyses.bandages import BandageAnswer
from audit.analyses.groups import by_species
from audit.analyses.tally import of_individuals
from audit.results import Estimate
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES


def bandage_sentences(answer: BandageAnswer) -> tuple[str, ...]:
    """One sentence a species: the mean number of changes by day 21 and by the end of watching."""
    sentences = []
    for species, curve in answer.mean:
        if not curve.day.size:
            sentences.append(f"{SPECIES[species]}: no bandage change is on record.")
            continue
        early = curve.mean[curve.day <= 21]
        sentences.append(
            f"{SPECIES[species]}: on average {wording.number(early[-1] if early.size else 0, 1)} bandage changes by day 21 and "
            f"{wording.number(curve.mean[-1], 1)} ({wording.percent(curve.level)} interval {wording.number(curve.low[-1], 1)} to "
            f"{wording.number(curve.high[-1], 1)}) by day {curve.day[-1]:g}, in {wording.count(curve.animals, 'animal')}."
        )
    return tuple(sentences) or ("No bandage change is on record.",)


def wait_sentences(answer: BandageAnswer) -> tuple[str, ...]:
    """One sentence a species: in how many cases a wait was longer than planned, phase by phase."""
    return tuple(
        f"{SPECIES[species]}: a wait longer than the schedule allows began in "
        + wording.join([
            f"{len(w.late)} of {wording.count(len(w.cases), 'case')} on days {w.first_day} to {w.last_day} (longest {w.longest:g} days)"
            for w in answer.waits
            if w.species == species and w.longest is not None
        ])
        + "."
        for species in dict.fromkeys(w.species for w in answer.waits if w.longest is not None)
    )  # fmt: skip


def bandage_section(answer: BandageAnswer) -> Section:
    """The mean number of changes, and waits longer than the planned schedule allows."""
    return Section(
        id="bandages",
        title="Bandage changes",
        question="How many bandage changes does it take, and do we keep our own schedule?",
        sentences=(*bandage_sentences(answer), *wait_sentences(answer)),
        ledgers=(
            Ledger("Cases whose changes are not counted", answer.not_watched),
            Ledger("A wait longer than the schedule allows", tuple(
                (f"{SPECIES[w.species]}, begun on days {w.first_day} to {w.last_day}", w.late) for w in answer.waits if w.late
            )),
            Ledger("First change", tuple(
                (f"day {day:g}", of_individuals(cases))
                for day, cases in answer.cases.dropna(subset=["first_change_day"]).groupby("first_change_day")
            )),
        ),
        remarks=("Changes made at home or at another practice and not reported are not in these counts.",),
    )  # fmt: skip


def bandage_phase_table(answer: BandageAnswer) -> Table:
    """A row a species and phase: changes a watched day beside the schedule, and waits longer than it."""
    rows = []
    waits = {(w.species, w.first_day): w for w in answer.waits}
    for species, rates in answer.rates:
        for (first, last, gap), rate in zip(answer.planned, rates, strict=True):
            waits_here = waits.get((species, first))
            late = (
                f"{len(waits_here.late)} of {len(waits_here.cases)}"
                if waits_here and waits_here.cases
                else "nobody watched"
            )
            longest = f"{waits_here.longest:g}" if waits_here and waits_here.longest is not None else ""
            rows.append(
                (
                    SPECIES[species],
                    f"{first} to {last}",
                    f"at least one in {gap}",
                    _every(rate),
                    _rate(rate),
                    late,
                    longest,
                )
            )
    return Table(
        "bandage-phases",
        "Changes a watched day, by phase, beside the schedule of the protocol",
        (Column("Species"), Column("Days"), Column("Planned: days"), Column("Done: one in ... days"), Column("Changes a day (interval)"),
         Column("Cases that waited longer"), Column("Longest wait, days", align="right")),
        tuple(rows),
        (
            "The schedule is the practice's own; sources conflict on how often to change, and none is a standard.",
            "A wait counts in the phase in which it began: on the day of surgery, or of a change. It ends with the next change, with "
            "the first examination that found the wound healed, or with the end of watching.",
        ),
    )  # fmt: skip


def _every(rate: Estimate) -> str:
    return "none" if not rate.value else wording.number(1 / rate.value, 1)


def _rate(rate: Estimate) -> str:
    if rate.value is None or rate.low is None or rate.high is None:
        return "nobody watched"
    low, high = wording.number(rate.low, 2), wording.number(rate.high, 2)
    return f"{wording.number(rate.value, 2)} ({low} to {high}), {rate.numerator} in {rate.denominator} days"


def bandage_wait_table(answer: BandageAnswer) -> Table:
    """A row a species and measure: changes, first change and longest wait, each with median and range."""
    rows = []
    for species, cases in by_species(answer.cases):
        for name, column in (
            ("changes on record", "changes"),
            ("day of the first change", "first_change_day"),
            ("longest wait to day 21 or healing, days", "longest_gap"),
        ):
            known = cases[column].dropna().astype(float)
            low, middle, high = (
                (wording.number(known.quantile(q), 1) for q in (0.25, 0.5, 0.75)) if len(known) else ("", "none", "")
            )
            span = f"{known.min():g} to {known.max():g}" if len(known) else ""
            rows.append(
                (
                    SPECIES[species],
                    name,
                    str(len(known)),
                    f"{middle} ({low} to {high})" if len(known) else middle,
                    span,
                )
            )
    return Table(
        "bandage-waits",
        "Changes and waits, case by case summed up",
        (Column("Species"), Column("What"), Column("Cases", align="right"), Column("Median (quartiles)"), Column("Range")),
        tuple(rows),
    )  # fmt: skip
