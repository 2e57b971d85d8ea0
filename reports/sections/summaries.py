"""One table a question, as a paper shows it; where cases were chosen for how they ended it gives counts, and no share."""

import sys

from audit.analyses.groups import GroupShare
from audit.analyses.healing import HealingCurve
from audit.analyses.run import Audit
from audit.results import Estimate
from reports import wording
from reports.document import Column, Table
from reports.figures.labels import SPECIES, species_order
from reports.sections.complications import QUESTIONS
from reports.sections.healing import curve_name, median_words
from reports.sections.planned_examinations import share_words
from reports.sections.shares import bounds_cell, group_name, known_share
from reports.sections.take import threshold_words

COUNTS = ("Known", "With", "Without", "Cannot tell")
CHOSEN = "Cases were chosen for how they ended: counts describe them, and no share of them is a risk."


def _share_table(
    audit: Audit, identifier: str, title: str, rows: list[tuple[str, GroupShare]], first: str, notes: tuple[str, ...]
) -> Table:
    """One row a group: counts, and in a cohort the share with its two intervals, and its bounds."""
    few = audit.protocol.analysis.smallest_percentage
    level = wording.percent(audit.protocol.analysis.level)
    counts = tuple(Column(name, align="right") for name in COUNTS)
    shares = (Column(f"Of the known ({level} interval)"), Column(f"Exact {level} interval"), Column("Bounds"))
    cells = [
        (
            name, str(g.cases.known), str(len(g.cases.sure_yes)), str(len(g.cases.sure_no)), str(len(g.cases.cannot_tell)),
            *((known_share(g, few), _exact(g.exact, g), bounds_cell(g.cases, few)) if audit.is_cohort else ()),
        )
        for name, g in rows
    ]  # fmt: skip
    general = (
        f"Fewer than {few} known cases: counts, no percentage. Bounds: if none, or all, of those that cannot be told were with it.",
        "Exact interval (Clopper-Pearson): only where each animal counts once.",
    )
    columns = (Column(first), *counts, *(shares if audit.is_cohort else ()))
    return Table(
        identifier, title, columns, tuple(cells), ((*general, *notes) if audit.is_cohort else (CHOSEN, *notes))
    )


def _exact(exact: Estimate | None, group: GroupShare) -> str:
    if exact is None:
        return "none known" if group.share is None else "several an animal"
    return wording.ends(exact)


def take_summary(audit: Audit) -> Table:
    """A row a species, location and method group: how many grafts took."""
    answer, window = audit.take, audit.protocol.take
    groups = (
        *((group_name(g, ""), g) for g in answer.overall),
        *((group_name(g, "location"), g) for g in answer.by_location),
        *((group_name(g, "method_group"), g) for g in answer.by_method_group),
    )
    return _share_table(
        audit,
        "take",
        f"Take: {threshold_words(answer)} alive at day {window.from_day} to {window.to_day}",
        list(groups),
        "Group",
        ("Locations and kinds of graft are described, not compared.",),
    )


def complication_summary(audit: Audit) -> Table:
    """A row a species and question: cases with such a complication by the protocol's day."""
    answer = audit.complications
    rows = [(f"{SPECIES[g.species]}: {QUESTIONS[question]}", g) for question, groups in answer.overall for g in groups]
    rows.sort(key=lambda row: list(SPECIES).index(row[1].species))
    return _share_table(
        audit,
        "complications",
        f"Cases with a complication by day {answer.by_day}",
        rows,
        "Complication",
        ("A case counts as without only if it was watched to that day. Grades follow the treatment needed.",),
    )


def healing_summary(audit: Audit) -> Table:
    """A row a curve and asked day: healed, not healed, cannot tell; the estimate, median and mean."""
    answer, level = audit.healing, wording.percent(audit.protocol.analysis.level)
    rows = []
    for curve in (*answer.overall, *answer.by_method):
        name = curve_name(curve)
        for k, (day, group, estimate) in enumerate(curve.shares):
            cases = group.cases
            counts = (str(len(cases.sure_yes)), str(len(cases.sure_no)), str(len(cases.cannot_tell)))
            estimates: tuple[str, ...] = ()
            if audit.is_cohort:
                estimates = (
                    share_words(estimate),
                    median_words(curve) if k == 0 else "",
                    _mean(curve) if k == 0 else "",
                )
            rows.append((name if k == 0 else "", str(day), *counts, *estimates))
    counted = tuple(Column(name, align="right") for name in ("By day", "Healed", "Not healed", "Cannot tell"))
    shares = (
        Column(f"Estimated share ({level} interval)"),
        Column("Median"),
        Column(f"Mean days, counted to day {answer.horizon}"),
    )
    return Table(
        "healing",
        "Time to complete epithelialisation",
        (Column("Group"), *counted, *(shares if audit.is_cohort else ())),
        tuple(rows),
        ("Nonparametric maximum likelihood from visit intervals, other ends competing; profile-likelihood intervals. A range "
         "stands where visits leave the value open. In the mean a case not healed by the last day counts to that day, whatever ended "
         "its wait; a dash: too few animals, or a kind of graft.",) if audit.is_cohort else (CHOSEN,),
    )  # fmt: skip


def _mean(curve: HealingCurve) -> str:
    return "–" if curve.mean_days is None else wording.amount(curve.mean_days)


def donor_bandage_summary(audit: Audit) -> Table:
    """A row a measure of donor sites and bandage changes, a column a species."""
    donor, bandages, few = audit.donor, audit.bandages, audit.protocol.analysis.smallest_percentage
    names = species_order([*(g.species for g in donor.sutures), *bandages.cases["species"]])
    rows: list[tuple[str, ...]] = []

    def row(what: str, cells: dict[str, str]) -> None:
        if cells:
            rows.append((what, *(cells.get(name, "none on record") for name in names)))

    row(f"Donor sutures out on day {donor.sutures_from} to {donor.sutures_to}", {
        g.species: (wording.share(g.share.estimate, few if audit.is_cohort else sys.maxsize) if g.share else "none known")
        for g in donor.sutures
    })  # fmt: skip
    totals = donor.sites["species"].value_counts()
    row("Donor sites with a complication", {s: f"{len(codes)} of {totals[s]}" for s, codes in donor.with_complication})
    if audit.is_cohort:
        row("Donor site healed, median day", {s: wording.time(e) for s, _, e in donor.healed if e})
    for what, column in (("Bandage changes on record", "changes"), ("First bandage change, day", "first_change_day")):
        cells = {}
        for name in names:
            known = bandages.cases.loc[bandages.cases["species"] == name, column].dropna().astype(float)
            if len(known):
                low, median, high = (float(known.quantile(q)) for q in (0.25, 0.5, 0.75))
                cells[name] = wording.middle((low, median, high), len(known))
        row(what, cells)
    return Table(
        "donor-bandage",
        "Donor sites and bandage changes",
        (Column("Measure"), *(Column(SPECIES[n]) for n in names)),
        tuple(rows),
    )
