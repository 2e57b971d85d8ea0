"""One invented animal whose records hold no fault, and the way from such rows to a checked workbook."""

import copy
from datetime import date, timedelta

from audit.dictionary import RECONSTRUCTION_KEY, table
from audit.intake.check_workbook import Intake, check_workbook
from audit.intake.template import write_template

KEY = bytes(range(32))
SURGERY = date(2024, 5, 16)


def day(number: int) -> date:
    return SURGERY + timedelta(days=number)


_CASE = {
    "animals": [
        {
            "species": "dog",
            "age_years": 4.5,
            "sex": "male",
            "neutered": "neutered",
            "breed": "lurcher",
            "comorbidity": ["none"],
        }
    ],
    "wounds": [
        {
            "region": "metatarsus",
            "side": "left",
            "cause": "degloving_or_shear",
            "length_cm": 8,
            "width_cm": 5,
            "area_cm2": 31.0,
            "area_method": "tracing_grid",
            "wound_date": day(-14),
        }
    ],
    "reconstructions": [
        {
            "surgery_date": day(0),
            "planned_method": "mesh_full",
            "done_method": "mesh_full",
            "recipient_bed": "granulating",
            "graft_area_cm2": 30.5,
            "body_mass_kg": 24.5,
            "meshed": True,
            "mesh_expansion": 1.5,
            "surgeon_code": "S-one",
        }
    ],
    "donor_sites": [
        {
            "donor_number": 1,
            "donor_region": "thorax",
            "donor_side": "left",
            "donor_closure": "primary",
            "suture_state": "all_out",
            "suture_out_date": day(10),
        }
    ],
    "visits": [
        {
            "visit_date": day(10),
            "contact": "clinic",
            "bandage_changed": True,
            "graft_visible": True,
            "viable_pct": 87,
            "lost_pct": 8,
            "uncertain_pct": 5,
            "loss_depth": "full_thickness",
            "epithelialised": "no",
            "open_area_cm2": 3.5,
            "assessor_code": "N-two",
            "assessor_operated": False,
            "photo_code": "F17",
        },
        {
            "visit_date": day(30),
            "contact": "clinic",
            "bandage_changed": False,
            "graft_visible": True,
            "viable_pct": 92,
            "lost_pct": 0,
            "epithelialised": "yes",
            "open_area_cm2": 0,
            "assessor_operated": False,
        },
    ],
    "scores": [
        {
            "photo_date": day(95),
            "item": "hair",
            "value": 3,
            "rater_code": "N-two",
            "rater_role": "nurse",
            "blinded_to_method": True,
            "clipped": "unclipped",
        }
    ],
    "complications": [
        {
            "complication": "seroma",
            "site": "recipient",
            "first_seen_date": day(5),
            "action": ["drainage", "bandage_change"],
        }
    ],
    "exits": [
        {
            "exit_reason": "healed_and_followed",
            "exit_date": day(95),
            "last_seen_date": day(95),
            "last_contact_mode": "seen",
            "exit_evidence": "seen",
        }
    ],
}


def case(patient: str = "00123") -> dict[str, list[dict]]:
    """A fresh copy of the animal under that patient number."""
    rows = copy.deepcopy(_CASE)
    for sheet, group in rows.items():
        for row in group:
            row |= {name: {"patient_number": patient, "wound_letter": "A", "operation_number": 1}[name]
                    for name in table(sheet).keys if name in RECONSTRUCTION_KEY}  # fmt: skip
    return rows


def together(*cases: dict[str, list[dict]]) -> dict[str, list[dict]]:
    """The rows of several animals on the same sheets."""
    return {name: [row for each in cases for row in each.get(name, [])] for name in (*_CASE, "theatre_list")}


def check(rows: dict[str, list[dict]], folder, **options) -> Intake:
    path = folder / "book.xlsx"
    write_template(path, rows)
    return check_workbook(path, key=KEY, **options)


def found(intake: Intake) -> list[str]:
    return [fault.check for fault in intake.faults]
