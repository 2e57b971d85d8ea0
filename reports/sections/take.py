"""The section on take, by location and by method."""

from audit.analyses.groups import GroupShare
from audit.analyses.take import TakeAnswer
from audit.protocol import Protocol
from reports import wording
from reports.document import Column, Ledger, Section, Table
from reports.figures.labels import SPECIES
from reports.sections.chance import chance_cells, chance_note, chance_sentences
from reports.sections.shares import known_share, share_ledger, share_table, unknown_sentence
from reports.sections.species import species_sentences

TOOK = ("graft took", "graft did not take")
NO_GRAFT = "There is no free graft among these operations, so take is not asked about."


def take_sentences(answer: TakeAnswer, protocol: Protocol) -> tuple[str, ...]:
    """One sentence a species: how many took, among how many known, and what the unknown could change."""
    if not answer.overall:
        return (NO_GRAFT,)
    return tuple(
        f"{SPECIES[group.species]}: {threshold_words(answer)} was alive at day {protocol.take.from_day} to "
        f"{protocol.take.to_day} in {_share(group, protocol)}."
        for group in answer.overall
    )


def threshold_words(answer: TakeAnswer) -> str:
    """The threshold of take in words."""
    return f"{answer.threshold_pct:g} % or more of the graft" if answer.threshold_pct < 100 else "all of the graft"


def _share(group: GroupShare, protocol: Protocol) -> str:
    if group.share is None:
        return f"none that is known, of {group.cases.asked} asked about"
    smallest, unknown = protocol.analysis.smallest_percentage, len(group.cases.cannot_tell)
    known = wording.share(group.share.estimate, smallest)
    if group.cases.known < smallest:
        known = f"{known} ({wording.share_interval(group.share.estimate)})"
    return (
        f"{known}; {unknown} more cannot be told, so {_bounds(group)}" if unknown else f"{known}; every result is known"
    )


def _bounds(group: GroupShare) -> str:
    least, most = len(group.cases.sure_yes), len(group.cases.sure_yes) + len(group.cases.cannot_tell)
    return f"between {least} and {most} of {group.cases.asked}"


def take_section(answer: TakeAnswer, protocol: Protocol) -> Section:
    """Take by species, what the unknown and chance could change, and cats beside dogs."""
    smallest = protocol.analysis.smallest_percentage
    title, asked = "Take by location and by method", "How much of our grafts is alive when take can first be judged?"
    if not answer.overall:
        return Section(id="take", title=title, question=asked, sentences=take_sentences(answer, protocol))
    return Section(
        id="take",
        title=title,
        question=asked,
        sentences=(
            *take_sentences(answer, protocol),
            *_surface_sentences(answer),
            *unknown_sentence(answer.overall),
            *species_sentences(answer.species),
            *chance_sentences(answer, smallest),
        ),
        ledgers=(
            *(share_ledger(group, "", answer.question, TOOK) for group in answer.overall),
            *(share_ledger(group, "location", answer.question, TOOK) for group in answer.by_location),
            *(share_ledger(group, "method", answer.question, TOOK) for group in answer.by_method),
            *(
                Ledger(f"Graft took, surface layer lost: {SPECIES[species]}", (("surface layer lost", lost),))
                for species, lost, _ in answer.surface_only
                if lost
            ),
        ),
        remarks=(
            "Take is the share of the current graft outline that is alive through its full thickness. Loss of the outer "
            "skin layer alone is not graft loss. Grafts shrink, so measured against the original area take would read lower.",
            FIRST_ONLY if protocol.analysis.unit == "first_per_animal" else EVERY_GRAFT,
        ),
    )  # fmt: skip


def take_by_location_table(answer: TakeAnswer, smallest: int) -> Table:
    """A row a location within species, with the partially pooled share and what chance alone allows."""
    return share_table(
        "take-location-counts", f"{answer.question.capitalize()}, by location", answer.by_location, "location",
        smallest, extra=_beside(answer, "location", smallest), notes=_beside_notes(answer, "location"),
    )  # fmt: skip


def take_by_method_table(answer: TakeAnswer, smallest: int) -> Table:
    """A row a method within species, with the partially pooled share and what chance alone allows."""
    return share_table(
        "take-method-counts", f"{answer.question.capitalize()}, by method", answer.by_method, "method", smallest,
        extra=_beside(answer, "method", smallest),
        notes=(*_beside_notes(answer, "method"), "Not a comparison of methods."),
    )  # fmt: skip


def _surface_sentences(answer: TakeAnswer) -> tuple[str, ...]:
    return tuple(
        f"{SPECIES[species]}: of the grafts counted as taken, {len(sloughed)} of {len(taken)} had lost the surface layer only."
        for species, sloughed, taken in answer.surface_only
        if sloughed
    )


FEWEST_SECOND_GRAFTS = 5
FIRST_ONLY = (
    "Where an animal was operated on more than once, only its first reconstruction counts here; the table of every graft "
    "counts all and allows for grafts of one animal being alike."
)
EVERY_GRAFT = (
    "Every graft counts here, several of one animal too; the intervals allow for grafts of one animal being alike."
)
POOLING = (
    "Partially pooled: each group borrows from the others of its species what they allow, so that small groups are not "
    "over-read; mean and interval of a beta-binomial model. Groups are not ranked."
)


def _beside(answer: TakeAnswer, what: str, smallest: int) -> tuple[tuple[str, list[str]], ...]:
    """Columns beside the counts: the pooled share and the limits of chance, each where there are any."""
    columns = {
        "Partially pooled": _pooled(answer, what) if _is_pooled(answer, what) else [],
        "Chance alone allows": chance_cells(answer, what, smallest),
    }
    return tuple((head, cells) for head, cells in columns.items() if cells)


def _beside_notes(answer: TakeAnswer, what: str) -> tuple[str, ...]:
    return (*((POOLING,) if _is_pooled(answer, what) else ()), *chance_note(answer, what))


def _is_pooled(answer: TakeAnswer, what: str) -> bool:
    return any(kind == what for _, kind, _ in answer.pooled)


def _pooled(answer: TakeAnswer, what: str) -> list[str]:
    estimates_by_group = {
        (species, estimate.group): estimate
        for species, kind, shares in answer.pooled
        if kind == what
        for estimate in shares.levels
    }
    groups = answer.by_location if what == "location" else answer.by_method
    estimates = [estimates_by_group.get((group.species, group.group)) for group in groups]
    return [
        f"{wording.percent(e.value)} ({wording.ends(e)})" if e and e.value is not None
        else "single group" if group.cases.known else "none known"
        for e, group in zip(estimates, groups, strict=True)
    ]  # fmt: skip


def take_thresholds_table(answer: TakeAnswer, smallest: int) -> Table:
    """A row a threshold and species."""
    rows = tuple(
        (
            f"{pct:g} % or more" if pct < 100 else "all of it",
            SPECIES[group.species],
            known_share(group, smallest),
            wording.bounds(group.cases, smallest),
        )
        for pct, groups in answer.other_thresholds
        for group in groups
    )
    return Table(
        "take-thresholds",
        "Take at other thresholds, so that none is picked after looking",
        (Column("Alive"), Column("Species"), Column("Of the known (interval)"), Column("Bounds")),
        rows,
    )


def take_percent_table(answer: TakeAnswer) -> Table:
    """A row a species: median, mean and every value of the percent alive."""
    rows = []
    for species, percent in answer.percent:
        median, low, high = (
            wording.number_range(*s) for s in (percent.median, percent.lower_quartile, percent.upper_quartile)
        )
        values = sorted(zip(percent.viable, percent.viable_to, strict=True))
        listed = ", ".join(f"{a:g}" if a == b else f"{a:g} to {b:g}" for a, b in values)
        rows.append(
            (SPECIES[species], str(len(values)), f"{median} ({low}; {high})", wording.amount(percent.mean, "%"), listed)
        )
    return Table(
        "take-percent",
        "Percent of the graft alive: every value",
        (
            Column("Species"), Column("Grafts", align="right"), Column("Median (quartiles)", "%"), Column("Mean"),
            Column("Every value", "%"),
        ),
        tuple(rows),
        (
            "A range stands where part of a graft was doubtful. The mean alone misleads: a few lost grafts hide behind many whole ones.",
            *(note.capitalize() for note in sorted({note for _, percent in answer.percent for note in percent.mean.notes})),
        ),
    )  # fmt: skip


def every_graft_table(answer: TakeAnswer, smallest: int) -> Table:
    """A row a species: all grafts of all operations, and how alike those of one animal are."""
    rows = []
    for group in answer.every_graft:
        share = group.share
        number = share.estimate.animals or 0 if share else 0
        # A handful of second grafts gives a correlation of any size.
        several = share is not None and group.cases.known - number >= FEWEST_SECOND_GRAFTS
        correlation = share.intra_animal_correlation if share and several else None
        alike = "too few second grafts" if correlation is None else wording.number(correlation, 2)
        effect = "" if share is None else wording.number(share.design_effect, 2)
        rows.append(
            (SPECIES[group.species], str(group.cases.known), str(number), known_share(group, smallest), effect, alike)
        )
    return Table(
        "take-all-operations",
        "Every graft counted, second grafts and re-grafts included",
        (
            Column("Species"), Column("Known grafts", align="right"), Column("Animals", align="right"),
            Column("Share"), Column("Design effect", align="right"), Column("Likeness within an animal", align="right"),
        ),
        tuple(rows),
        ("Likeness within an animal: the correlation between grafts of one animal. The interval allows for it.",),
    )  # fmt: skip
