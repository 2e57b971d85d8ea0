"""The section on what animals, wounds and operations these were."""

from audit.analyses.case_mix import CaseMixAnswer, Count, Measure
from reports import wording
from reports.document import Column, Section, Table
from reports.figures.labels import SPECIES, label, species_order

ONCE = "Age, body weight, sex and neuter status are counted once an animal, at its first operation here; the rest by operation."
FIELDS = {"method": "method_group", "location": "location"}


def case_mix_section(answer: CaseMixAnswer) -> Section:
    """How many operations there are, and in how many another method was done than planned."""
    totals = wording.join(
        [
            f"{wording.count(cases, 'operation')} in {wording.count(animals, species)}"
            for species, cases, animals in answer.totals
        ]
    )
    sentences = [f"The cases are {totals}."]
    if answer.changed_plan:
        sentences.append(f"In {wording.count(len(answer.changed_plan), 'case')} another method was done than planned.")
    return Section(
        id="case-mix",
        title="Case mix",
        question="What kind of animals, wounds and operations were these?",
        sentences=tuple(sentences),
        remarks=(
            "Methods follow the wound: size, site and bed decide which is chosen. Cells without cases show where methods "
            "cannot be set side by side at all.",
        ),
    )


def characteristics_table(answer: CaseMixAnswer) -> Table:
    """Table 1 without p-values: animals, wounds and operations, a column a species."""
    species = species_order(name for name, _, _ in answer.totals)
    animals = {name: number for name, _, number in answer.totals}
    operations = {name: number for name, number, _ in answer.totals}
    rows = [
        ("Animals", "", *(str(animals[s]) for s in species)),
        ("Operations", "", *(str(operations[s]) for s in species)),
    ]
    for name in dict.fromkeys(m.characteristic for m in answer.measures):
        mine = {m.species: m for m in answer.measures if m.characteristic == name}
        head = _head(mine[species[0]])
        rows.append((head, "median (quartiles); range", *(_measured(mine[s]) for s in species)))
        if any(m.missing for m in mine.values()):
            rows.append((head, "not known", *(str(mine[s].missing) for s in species)))
    for name in dict.fromkeys(c.characteristic for c in answer.counts):
        mine_counts = [c for c in answer.counts if c.characteristic == name]
        for level in sorted({c.level for c in mine_counts}, key=lambda v: (v is None, v or "")):
            rows.append((name.capitalize(), _level(name, level), *(_counted(mine_counts, level, s) for s in species)))
    return Table(
        "characteristics",
        "Animals, wounds and operations",
        (Column("Characteristic"), Column("Level"), *(Column(SPECIES[s], align="right") for s in species)),
        tuple(rows),
        (
            "No tests: differences between groups of a case mix are described, not tested.",
            *((ONCE,) if operations != animals else ()),
        ),
    )


def _head(measure: Measure) -> str:
    return (
        f"{measure.characteristic.capitalize()} ({measure.unit.replace('cm2', 'cm²')})"
        if measure.unit
        else measure.characteristic.capitalize()
    )


def _measured(measure: Measure) -> str:
    if measure.quartiles is None or measure.least is None or measure.greatest is None:
        return "none known"
    places = 1 if measure.unit else 0
    low, middle, high, least, greatest = (
        wording.number(value, places) for value in (*measure.quartiles, measure.least, measure.greatest)
    )
    return f"{middle} ({low} to {high}); {least} to {greatest}"


def _level(name: str, level: str | None) -> str:
    return "not known" if level is None else label(FIELDS.get(name, ""), level)


def _counted(counts: list[Count], level: str | None, species: str) -> str:
    return str(sum(len(c.cases) for c in counts if c.level == level and c.species == species))
