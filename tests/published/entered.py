"""A published series entered as workbook rows: what its abstract prints, and `not recorded` for what it leaves out."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from audit import dictionary
from audit.intake.check_workbook import Intake, check_workbook
from audit.intake.template import write_template
from audit.protocol import Protocol, read_protocol
from audit.store import Store, open_store

Row = Mapping[str, object]

DAY_0 = date(2000, 1, 1)
NOT_RECORDED, NA = "not_recorded", "not_applicable"
READ = "read in the abstract only"

ASSUMED_OF_ALL = (
    "every operation is dated 1 January 2000, a stand-in for dates that the abstract does not print",
    "everybody who was operated on in the period of the paper is in it: series is `cohort`, as the abstract gives good "
    "and bad ends alike and does not say that animals were chosen for how they ended",
    "how the cases were found and the ethics of the paper are not told: record search, and an audit that needs no "
    "approval, stand there and say nothing of the paper",
)
"""What no abstract tells and every store needs."""

_PROTOCOL = """
rule_of_thumb = []                  # the paper is not held against rules of thumb

[protocol]
name = "{name}, entered from its abstract"
purpose = "case_series"
series = "cohort"
question = "Does the audit find the counts that the abstract prints?"
criterion = "{criterion}"
target_pct = "none"
case_finding = "record_search"
eligible = ["{eligible}"]
not_eligible = ["none told in the abstract"]

[period]
start = "2000-01"
end = "2000-01"
data_lock = 2000-12-31

[analysis]
unit = "every_reconstruction"

[take]
threshold_pct = {threshold}
also_pct = {also}
"""


@dataclass(frozen=True, slots=True)
class Operation:
    """
    One operation as far as an abstract tells of it.

    `looks`, `grades` and `troubles` pair a day with the cells of a row in visits, scores and complications; `wound_as`,
    `done_as` and `exit_as` are further cells of the rows that every operation has.
    """

    patient: str
    species: str
    method: str
    region: str
    wound: str = "A"
    ends_on: int = 0
    wound_as: Row = field(default_factory=dict)
    done_as: Row = field(default_factory=dict)
    exit_as: Row = field(default_factory=dict)
    looks: tuple[tuple[int, Row], ...] = ()
    grades: tuple[tuple[int, Row], ...] = ()
    troubles: tuple[tuple[int, Row], ...] = ()


@dataclass(frozen=True, slots=True)
class Series:
    """
    A published series as the intake takes it.

    `rows` are by sheet as typed; `protocol` is the TOML under which its printed counts are asked for; `assumed` names
    everything that had to be filled in and is not printed.
    """

    name: str
    source: str
    rows: Mapping[str, tuple[Row, ...]]
    protocol: str
    assumed: tuple[str, ...]


def on(day: int) -> date:
    """The stand-in date of a day after surgery."""
    return DAY_0 + timedelta(days=day)


def protocol_text(name: str, criterion: str, eligible: str, *, threshold: int, also: Iterable[int]) -> str:
    """The TOML of a protocol that asks for the counts of a paper; its gaps are filled from the shipped one."""
    return _PROTOCOL.format(name=name, criterion=criterion, eligible=eligible, threshold=threshold, also=list(also))


def rows_of(operations: Iterable[Operation]) -> Mapping[str, tuple[Row, ...]]:
    """The rows of every sheet: `not recorded` in each core cell that nothing was told for, blank elsewhere."""
    rows: dict[str, list[Row]] = {table.name: [] for table in dictionary.SHEETS}
    for each in operations:
        animal = {"patient_number": each.patient}
        wound = animal | {"wound_letter": each.wound}
        key = wound | {"operation_number": 1}
        if not any(row["patient_number"] == each.patient for row in rows["animals"]):
            rows["animals"].append(animal | {"species": each.species})
        rows["wounds"].append(wound | {"region": each.region} | each.wound_as)
        done = {"surgery_date": DAY_0, "done_method": each.method, "pieces_placed": NA}
        rows["reconstructions"].append(key | done | each.done_as)
        rows["visits"] += [key | {"visit_date": on(day), "contact": "clinic"} | row for day, row in each.looks]
        rows["scores"] += [key | {"photo_date": on(day)} | row for day, row in each.grades]
        rows["complications"] += [key | {"first_seen_date": on(day)} | row for day, row in each.troubles]
        ends = {"exit_reason": "lost_before_healing", "exit_date": on(each.ends_on)}
        rows["exits"].append(key | ends | each.exit_as)
    return {sheet: tuple(_whole(sheet, row) for row in written) for sheet, written in rows.items()}


def _whole(sheet: str, row: Row) -> Row:
    asked = [each.name for each in dictionary.table(sheet).core if each.kind != "key"]
    return dict.fromkeys(asked, NOT_RECORDED) | row


def checked(series: Series, folder: Path) -> Intake:
    """The series through the door: written as a workbook into the folder, read and checked."""
    path = folder / f"{series.name}.xlsx"
    write_template(path, series.rows)
    return check_workbook(path, key=bytes(32))


def loaded(series: Series, folder: Path) -> Store:
    """A store in memory that holds the series."""
    intake = checked(series, folder)
    store = open_store(":memory:", create=True)
    store.load(intake.tables, fingerprint=intake.fingerprint, on=date(2026, 1, 1))
    return store


def protocol_of(series: Series, folder: Path, *, unit: str | None = None) -> Protocol:
    """The protocol of the series; `unit` asks for first_per_animal or every_reconstruction instead."""
    path = folder / f"{series.name}.toml"
    text = series.protocol if unit is None else series.protocol.replace('"every_reconstruction"', f'"{unit}"')
    path.write_text(text, "utf-8")
    return read_protocol(path)
