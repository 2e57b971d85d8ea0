"""Operations scripted in a few words, written out as the rows of a workbook; for hand-made cases."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

from audit import dictionary
from synthetic_data.practice import Practice
from synthetic_data.sheets import NA, Row
from synthetic_data.visits import NOT_ASSESSABLE

_START = date(2023, 3, 1)


@dataclass(frozen=True, slots=True)
class Examination:
    """A contact: day, percent alive (None: graft not seen), and whether healed (None: could not be told)."""

    day: int
    viable: int | None = None
    healed: bool | None = False
    contact: str = "clinic"
    depth: str = ""


@dataclass(frozen=True, slots=True)
class ScriptedCase:
    """One operation: whose, how, seen when, ended why; `starts` is its day from the animal's first operation."""

    patient: str
    examinations: tuple[Examination, ...] = ()
    exit_reason: str = "lost_before_healing"
    exit_day: int = 0
    method: str = "mesh_full"
    species: str = "dog"
    wound: str = "A"
    operation: int = 1
    starts: int = 0
    grades: tuple[tuple[str, int], ...] = ()
    clipped: str = "unclipped"
    suture_state: str = "all_out"
    suture_day: int = 10
    opened: int | None = None

    @property
    def key(self) -> dict[str, object]:
        """The three columns that name the operation."""
        return {"patient_number": self.patient, "wound_letter": self.wound, "operation_number": self.operation}

    def on(self, day: int) -> date:
        """The date of a day after this operation."""
        return _START + timedelta(days=self.starts + day)


def scripted(name: str, cases: Sequence[ScriptedCase]) -> Practice:
    """The workbook rows of scripted cases: plain values in every core field, nothing elsewhere."""
    rows: dict[str, list[Row]] = {table.name: [] for table in dictionary.SHEETS}
    for case in cases:
        _write(case, rows)
    whole = {sheet: tuple(_whole(sheet, row) for row in written) for sheet, written in rows.items()}
    return Practice(name, MappingProxyType(whole), MappingProxyType({}))


def _whole(sheet: str, row: Row) -> Row:
    return {field.name: row.get(field.name) for field in dictionary.table(sheet).fields}


def _write(case: ScriptedCase, rows: dict[str, list[Row]]) -> None:
    patient, key = {"patient_number": case.patient}, case.key
    if all(row["patient_number"] != case.patient for row in rows["animals"]):
        rows["animals"].append(
            patient | {"species": case.species, "age_years": 4.0, "sex": "female", "neutered": "neutered"}
        )
    if case.operation == 1:
        size = {"length_cm": 6.0, "width_cm": 4.0, "area_cm2": 19.0, "area_method": "tracing_grid"}
        place = {"wound_letter": case.wound, "region": "carpus", "side": "left", "cause": "degloving_or_shear"}
        rows["wounds"].append(patient | place | size | {"wound_date": case.on(-14)})
    mass = 4.0 if case.species == "cat" else 20.0
    rows["reconstructions"].append(
        key
        | {"surgery_date": case.on(0), "planned_method": case.method, "done_method": case.method, "body_mass_kg": mass}
        | {
            "recipient_bed": "granulating",
            "graft_area_cm2": 19.0,
            "pieces_placed": 20 if case.method == "punch" else NA,
        }
    )
    if not case.method.startswith("flap"):
        out = case.on(case.suture_day) if case.suture_state == "all_out" and case.exit_day >= case.suture_day else None
        state = case.suture_state if out or case.suture_state != "all_out" else "not_recorded"
        absent = "not_recorded" if state == "not_recorded" else NA
        rows["donor_sites"].append(
            key
            | {"donor_number": 1, "donor_region": "thorax", "donor_side": "left", "donor_closure": "primary"}
            | {"suture_state": state, "suture_out_date": out or absent}
        )
    rows["visits"] += [key | _contact(case, examination) for examination in case.examinations]
    rows["scores"] += [key | _grade(case, item, value) for item, value in case.grades]
    if case.opened:
        what = {"complication": "epidermal_breakdown_late", "site": "recipient", "action": "bandage_change"}
        rows["complications"].append(key | what | {"first_seen_date": case.on(case.opened), "extent_pct": NA})
    seen = [examination.day for examination in case.examinations if examination.contact != "phone"]
    by_phone = bool(case.examinations) and case.examinations[-1].contact == "phone"
    rows["exits"].append(
        key
        | {
            "exit_reason": case.exit_reason,
            "exit_date": case.on(case.exit_day),
            "last_seen_date": case.on(max(seen, default=0)),
        }
        | {"last_contact_mode": "owner_phone" if by_phone else "seen"}
        | {"exit_evidence": "owner_report" if by_phone else "seen"}
    )


def _contact(case: ScriptedCase, examination: Examination) -> dict[str, object]:
    seen, by_phone = examination.viable is not None, examination.contact == "phone"
    healed = {True: "yes", False: "no", None: NOT_ASSESSABLE}[examination.healed if seen or by_phone else None]
    row: dict[str, object] = {
        "visit_date": case.on(examination.day),
        "contact": examination.contact,
        "bandage_changed": "no" if by_phone or examination.healed else "yes",
        "graft_visible": "yes" if seen else "no",
        "viable_pct": NOT_ASSESSABLE if examination.viable is None else examination.viable,
        "lost_pct": NOT_ASSESSABLE if examination.viable is None else 100 - examination.viable,
        "epithelialised": healed,
    }
    if examination.viable is not None:
        row["loss_depth"] = examination.depth or ("none" if examination.viable == 100 else "full_thickness")
    return row


def _grade(case: ScriptedCase, item: str, value: int) -> dict[str, object]:
    return {
        "photo_date": case.on(100),
        "item": item,
        "value": value,
        "rater_code": "R1",
        "rater_role": "other_vet",
        "blinded_to_method": "yes",
        "clipped": case.clipped,
        "is_repeat": "no",
    }
