"""One line a case, for a series small enough to be read so."""

from collections import Counter
from collections.abc import Iterator

from audit.analyses.case_lines import CaseLine
from audit.codes import SPECIES
from reports import wording
from reports.document import Column, Table
from reports.figures.labels import label

MOST = 60  # more lines than this nobody reads; the file of cases has them
ANIMAL = {species.name: species.label.capitalize() for species in SPECIES}


def numbered(lines: tuple[CaseLine, ...]) -> Iterator[tuple[str, CaseLine]]:
    """
    Each case with its name in the paper: "Dog 1" is the dog operated on first.

    Where an animal has several cases here its later ones read "Dog 1, operation 2".
    """
    names: dict[str, str] = {}
    animals: Counter[str] = Counter()
    operations: Counter[str] = Counter()
    for line in lines:
        animal = line.case_code.split("-")[0]
        if animal not in names:
            animals[line.species] += 1
            names[animal] = f"{ANIMAL[line.species]} {animals[line.species]}"
        operations[animal] += 1
        later = f", operation {operations[animal]}" if operations[animal] > 1 else ""
        yield f"{names[animal]}{later}", line


def case_table(lines: tuple[CaseLine, ...]) -> Table:
    """Signalment, wound, method and what became of it; without rows where there are too many cases."""
    heads = (
        "Case",
        "Sex, age",
        "Cause",
        "Location",
        "Area",
        "Method",
        "Take",
        "Healed",
        "Worst complication",
        "Hair",
        "Last status",
    )
    units = {"Area": "cm²", "Take": "% alive", "Healed": "day"}
    columns = tuple(
        Column(head, units.get(head, ""), "right" if head in ("Area", "Hair") else "left") for head in heads
    )
    rows = tuple(_row(name, line) for name, line in numbered(lines)) if len(lines) <= MOST else ()
    return Table(
        "case-lines",
        "Every case",
        columns,
        rows,
        (
            "Age in whole years. Healed: after the first day, up to the second. Hair: grade 0 to 4. A dash: not known, or not due.",
            "Rare breeds, causes and months can identify an owner: look this table over before it leaves the practice.",
        ),
    )


def _row(name: str, line: CaseLine) -> tuple[str, ...]:
    age = "" if line.age_years is None else f", {line.age_years} y"
    return (
        name,
        f"{line.sex or 'sex not known'}{age}",
        "–" if line.cause_group is None else label("cause_group", line.cause_group),
        "–" if line.location is None else label("location", line.location),
        "–" if line.area_cm2 is None else wording.number(line.area_cm2, 1),
        label("method", line.method),
        _take(line),
        _healed(line),
        line.worst or "–",
        "–" if line.hair is None else str(line.hair),
        _end(line),
    )


def _take(line: CaseLine) -> str:
    if line.take is None:
        return "–"
    return f"{wording.number_range(*line.take)} (day {line.take_day})"


def _healed(line: CaseLine) -> str:
    if line.healed_by is None:
        return "not seen healed" if not line.open_until else f"open at {line.open_until}"
    return f"{line.open_until or 0} to {line.healed_by}"


def _end(line: CaseLine) -> str:
    if line.exit_reason is None:
        return "–"
    words = label("exit_reason", line.exit_reason)
    return words if line.exit_day is None else f"{words}, day {line.exit_day}"
