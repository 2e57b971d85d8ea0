"""The tables of the paper; where cases were chosen for how they ended they give counts, and no share."""

from collections.abc import Iterable
from dataclasses import replace

from audit.analyses.groups import GroupShare
from audit.analyses.healing import HealingCurve
from audit.results import Estimate
from reports import wording
from reports.document import Column, Table
from reports.figures.labels import SPECIES, label, species_order
from reports.sections.bandages import bandage_section
from reports.sections.case_mix import case_mix_section
from reports.sections.complications import QUESTIONS, complication_section
from reports.sections.factors import factor_section
from reports.sections.healing import median_words
from reports.sections.planned_looks import share_words
from reports.sections.scores import score_section
from reports.sections.shares import bounds_cell, group_name, known_share
from reports.sections.take import threshold_words
from reports.sections.yardsticks import yardstick_section
from reports.write_up.case_table import case_table
from reports.write_up.evidence import Evidence

COUNTS = ("Known", "With", "Without", "Cannot tell")
TITLES = {  # in the report these are questions
    "score-agreement": "Agreement of raters on grades",
    "measure-agreement": "Agreement of two raters on measurements",
}
CHOSEN = "Cases were chosen for how they ended: counts describe them, and no share of them is a risk."


def tables(found: Evidence) -> tuple[Table, ...]:
    """Every table that has something to show, in order."""
    audit = found.audit
    scored = score_section(
        audit.scores, audit.agreement, audit.measured_agreement, found.protocol.analysis.smallest_percentage
    ).tables
    listed = [
        _characteristics(found),
        _take(found),
        _healing(found),
        _complications(found),
        *_of(complication_section(audit.complications, audit.protocol).tables, "complication-list"),
        _donor_bandage(found),
        *_of(scored, "score-hair", "score-agreement", "measure-agreement"),
        *(_of(bandage_section(audit.bandages).tables, "bandage-phases") if found.risks else ()),
        *(_of(factor_section(audit.factors).tables, "factor-ratios") if found.risks else ()),
        *(
            _of(yardstick_section(audit.yardsticks, audit.protocol).tables, "yardsticks-published")
            if found.risks
            else ()
        ),
        case_table(found.lines),
    ]
    return tuple(table for table in listed if table.rows)


def _of(made: Iterable[Table], *wanted: str) -> list[Table]:
    return [replace(table, title=TITLES.get(table.id, table.title)) for table in made if table.id in wanted]


def _characteristics(found: Evidence) -> Table:
    made = case_mix_section(found.audit.case_mix).tables[0]
    numbers = {SPECIES[name]: operations for name, operations, _ in found.audit.case_mix.totals}
    heads = tuple(
        Column(f"{c.name} (n = {numbers[c.name]})", c.unit, c.align) if c.name in numbers else c for c in made.columns
    )
    rows = made.rows if numbers else ()
    named = [("" if n and row[0] == rows[n - 1][0] else row[0], *row[1:]) for n, row in enumerate(rows)]
    return Table(made.id, "Animals, wounds and operations", heads, tuple(named), made.notes)


def _share_table(
    found: Evidence, identifier: str, title: str, rows: list[tuple[str, GroupShare]], first: str, notes: tuple[str, ...]
) -> Table:
    """One row a group: counts, and in a cohort the share with its two intervals, and its bounds."""
    few = found.protocol.analysis.smallest_percentage
    level = wording.percent(found.protocol.analysis.level)
    counts = tuple(Column(name, align="right") for name in COUNTS)
    shares = (Column(f"Of the known ({level} interval)"), Column(f"Exact {level} interval"), Column("Bounds"))
    cells = [
        (
            name, str(g.cases.known), str(len(g.cases.sure_yes)), str(len(g.cases.sure_no)), str(len(g.cases.cannot_tell)),
            *((known_share(g, few), _exact(g.exact, g), bounds_cell(g.cases, few)) if found.risks else ()),
        )
        for name, g in rows
    ]  # fmt: skip
    told = (
        f"Fewer than {few} known cases: counts, no percentage. Bounds: if none, or all, of those that cannot be told were with it.",
        "Exact interval (Clopper-Pearson): only where each animal counts once.",
    )
    columns = (Column(first), *counts, *(shares if found.risks else ()))
    return Table(identifier, title, columns, tuple(cells), ((*told, *notes) if found.risks else (CHOSEN, *notes)))


def _exact(exact: Estimate | None, group: GroupShare) -> str:
    if exact is None:
        return "none known" if group.share is None else "several an animal"
    return wording.ends(exact)


def _take(found: Evidence) -> Table:
    answer, window = found.audit.take, found.protocol.take
    groups = (
        *((group_name(g, ""), g) for g in answer.overall),
        *((group_name(g, "location"), g) for g in answer.by_location),
        *((group_name(g, "method_group"), g) for g in answer.by_method_group),
    )
    return _share_table(
        found,
        "take",
        f"Take: {threshold_words(answer)} alive at day {window.from_day} to {window.to_day}",
        list(groups),
        "Group",
        ("Locations and kinds of graft are described, not compared.",),
    )


def _complications(found: Evidence) -> Table:
    answer = found.audit.complications
    rows = [(f"{SPECIES[g.species]}: {QUESTIONS[question]}", g) for question, groups in answer.overall for g in groups]
    rows.sort(key=lambda row: list(SPECIES).index(row[1].species))
    return _share_table(
        found,
        "complications",
        f"Cases with a complication by day {answer.by_day}",
        rows,
        "Complication",
        ("A case counts as without only if it was watched to that day. Grades follow the treatment needed.",),
    )


def _healing(found: Evidence) -> Table:
    answer, level = found.audit.healing, wording.percent(found.protocol.analysis.level)
    rows = []
    for curve in (*answer.overall, *answer.by_method):
        name = (
            SPECIES[curve.species]
            if curve.group == "all"
            else f"{SPECIES[curve.species]}: {label('method_group', curve.group)}"
        )
        for k, (day, group, estimate) in enumerate(curve.shares):
            cases = group.cases
            counts = (str(len(cases.sure_yes)), str(len(cases.sure_no)), str(len(cases.cannot_tell)))
            told: tuple[str, ...] = ()
            if found.risks:
                told = (share_words(estimate), median_words(curve) if k == 0 else "", _mean(curve) if k == 0 else "")
            rows.append((name if k == 0 else "", str(day), *counts, *told))
    counted = tuple(Column(name, align="right") for name in ("By day", "Healed", "Not healed", "Cannot tell"))
    shares = (
        Column(f"Estimated share ({level} interval)"),
        Column("Median"),
        Column(f"Mean days, counted to day {answer.horizon}"),
    )
    return Table(
        "healing",
        "Time to complete epithelialisation",
        (Column("Group"), *counted, *(shares if found.risks else ())),
        tuple(rows),
        ("Nonparametric maximum likelihood from visit intervals, other ends competing; profile-likelihood intervals. A range "
         "stands where visits leave the value open. In the mean a case not healed by the last day counts to that day, whatever ended "
         "its wait; a dash: too few animals, or a kind of graft.",) if found.risks else (CHOSEN,),
    )  # fmt: skip


def _mean(curve: HealingCurve) -> str:
    return "–" if curve.mean_days is None else wording.amount(curve.mean_days)


def _donor_bandage(found: Evidence) -> Table:
    donor, bandages, few = found.audit.donor, found.audit.bandages, found.protocol.analysis.smallest_percentage
    names = species_order([*(g.species for g in donor.sutures), *bandages.cases["species"]])
    rows: list[tuple[str, ...]] = []

    def row(what: str, cells: dict[str, str]) -> None:
        if cells:
            rows.append((what, *(cells.get(name, "none on record") for name in names)))

    row(f"Donor sutures out on day {donor.sutures_from} to {donor.sutures_to}", {
        g.species: (wording.share(g.share.estimate, few if found.risks else found.smallest) if g.share else "none known")
        for g in donor.sutures
    })  # fmt: skip
    totals = donor.sites["species"].value_counts()
    row("Donor sites with a complication", {s: f"{len(codes)} of {totals[s]}" for s, codes in donor.with_complication})
    if found.risks:
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
