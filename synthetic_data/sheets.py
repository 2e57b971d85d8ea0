"""The rows of an invented case as a nurse would type them: animal, wound, operation, donor site and exit."""

from collections.abc import Mapping, Sequence
from math import pi, sqrt
from typing import Any

import numpy as np

from synthetic_data.cases import Case
from synthetic_data.signalment import ARTERIES, Signalment, pick
from synthetic_data.truth import is_distal

Row = Mapping[str, Any]
NA = "not_applicable"
SEEN = ("inpatient", "clinic", "home_visit")
_EVIDENCE = {"owner_photo": ("photo", "photo"), "other_practice_report": ("other_vet", "other_vet_report")}
SURGEONS = {"S1": "specialist", "S2": "resident"}


def yes_no(truth: bool) -> str:
    """The typed word."""
    return "yes" if truth else "no"


def some(rng: np.random.Generator, share: float) -> str:
    """`yes` with that probability."""
    return yes_no(bool(rng.random() < share))


def animal_row(rng: np.random.Generator, patient: str, animal: Signalment) -> Row:
    """The row of sheet animals."""
    return {
        "patient_number": patient,
        "species": animal.species,
        "age_years": animal.age_years,
        "sex": pick(rng, ("male", "female")),
        "neutered": pick(rng, ("neutered", "neutered", "neutered", "entire")),
        "breed": animal.breed,
        "breed_group": animal.size,
        "coat": animal.coat,
        "comorbidity": pick(
            rng, ("none",) * 12 + ("atopy_or_pyoderma", "chronic_kidney_disease", "neoplasia; cardiac")
        ),
        "healing_drug": pick(rng, ("none",) * 5 + ("nsaid", "nsaid", "corticosteroid")),
    }


def wound_row(rng: np.random.Generator, case: Case) -> Row:
    """The row of sheet wounds; case is the first operation on the wound."""
    wound, fresh = case.wound, case.wound.bed.startswith("fresh")
    method, area = _measured(rng, wound.length_cm, wound.width_cm)
    bound = 2 * sqrt(pi * area)
    return {
        "patient_number": case.patient,
        "wound_letter": case.wound_letter,
        "region": wound.region,
        "side": wound.side,
        "cause": wound.cause,
        "length_cm": wound.length_cm,
        "width_cm": wound.width_cm,
        "area_cm2": area,
        "area_method": method,
        "wound_date": case.on(-wound.age_days),
        "wound_date_precision": "day" if rng.random() < 0.85 else "month",
        "aspect": pick(
            rng, ("dorsal_or_cranial", "dorsal_or_cranial", "lateral", "medial", "palmar_plantar_or_caudal")
        ),
        "over_joint": some(rng, 0.3),
        "circumference_pct": int(rng.integers(3, 14)) * 5 if is_distal(wound.region) else NA,
        "perimeter_cm": round(max(bound * 1.02, pi * (wound.length_cm + wound.width_cm) / 2), 1) + 0.1,
        "depth_exposed": pick(rng, ("none", "fascia", "fascia; muscle", "tendon", "tendon; bone")),
        "contamination": "clean"
        if wound.bed == "fresh_surgical"
        else pick(rng, ("contaminated", "clean_contaminated")),
        "culture_taken": "no" if fresh else "yes",
        "culture_result": NA if fresh else pick(rng, ("no_growth", "staphylococcus", "pseudomonas", "mixed")),
        "resistance": NA if fresh else pick(rng, ("none", "none", "multi_drug", "not_tested")),
        "bed_preparation_days": 0 if fresh else max(0, wound.age_days - 2),
        "bed_grade": NA if fresh else pick(rng, ("g2", "g3", "g3")),
        "earlier_closures": int(rng.random() < 0.2),
        "irradiated": "no",
    }


def _measured(rng: np.random.Generator, length: float, width: float) -> tuple[str, float]:
    ellipse = pi / 4 * length * width
    method = pick(
        rng, ("tracing_grid",) * 10 + ("photo_with_scale",) * 14 + ("ellipse_from_lw",) * 10 + ("product_lw", "visual")
    )
    if method == "product_lw":
        return method, round(length * width, 1)
    if method == "visual":
        return method, max(1.0, round(ellipse))
    blur = 1.0 if method == "ellipse_from_lw" else rng.uniform(0.92, 1.05)
    return method, round(ellipse * blur, 1)


def reconstruction_row(rng: np.random.Generator, case: Case, area_cm2: float) -> Row:
    """The row of sheet reconstructions; `area_cm2` is the wound as its own row has it."""
    surgeon = pick(rng, ("S1", "S1", "S2"))
    minutes = int(rng.integers(8, 32)) * 5
    days = pick(rng, ("0", "3", "5", "7", "7", "10"))
    return {
        **case.key,
        "surgery_date": case.surgery,
        "planned_method": case.planned_method,
        "done_method": case.method,
        "recipient_bed": case.wound.bed,
        "body_mass_kg": case.animal.mass_kg,
        "timing": "immediate" if case.wound.bed.startswith("fresh") else "delayed",
        **_geometry(rng, case, area_cm2),
        "fixation": pick(rng, ("suture", "staple", "suture; tacking", "suture; bolster")),
        "drain": pick(rng, ("none", "none", "passive", "closed_suction")),
        "npwt_days": int(pick(rng, ("0", "0", "0", "3", "5"))),
        "immobilisation": pick(rng, ("splint", "soft_bandage", "soft_bandage"))
        if is_distal(case.wound.region)
        else "none",
        "asa": int(pick(rng, ("1", "2", "2", "3"))),
        "asa_emergency": some(rng, 0.05),
        "bcs": int(rng.integers(4, 8)),
        "bcs_scale": "of_9",
        "surgery_min": minutes,
        "anaesthesia_min": minutes + int(rng.integers(5, 14)) * 5,
        "prophylaxis": "yes",
        "prophylaxis_min": -int(rng.integers(2, 12)) * 5,
        "antimicrobial_days": int(days),
        "antimicrobial": "none" if days == "0" else pick(rng, ("potentiated_penicillin", "cephalosporin")),
        "surgeon_code": surgeon,
        "surgeon_level": SURGEONS[surgeon],
        "supervisor_present": yes_no(surgeon == "S2"),
    }


def _geometry(rng: np.random.Generator, case: Case, area: float) -> dict[str, object]:
    """Fields of size and make, each only where the method has it; graft and uncovered area add up to the wound."""
    found: dict[str, Any] = {"graft_area_cm2": area, "pieces_placed": NA, "uncovered_area_cm2": 0}
    if case.operation > 1:
        found = {**found, "graft_area_cm2": round(area * 0.6, 1), "uncovered_area_cm2": None}
    if case.group == "piece_graft":
        size = {"punch": 6, "strip": 5, "stamp": 12, "pad_segmental": 7}[case.method]
        graft = round(area * rng.uniform(0.35, 0.55), 1)
        pieces = int(np.clip(round(graft / (3.2 * size**2 / 400)), 4, 120))
        found |= {"graft_area_cm2": graft, "uncovered_area_cm2": round(area - graft, 1), "pieces_placed": pieces}
        found |= {"piece_size_mm": size, "thickness": "full"}
        if case.method == "punch":
            found["method_word"] = pick(rng, ("punch", "punch", "pinch", "seed"))
    elif case.is_free_graft:
        thickness = "full" if case.method.endswith("full") else pick(rng, ("split_thin", "split_intermediate"))
        mesh = case.group == "mesh_graft"
        found |= {"thickness": thickness, "meshed": yes_no(mesh), "mesh_expansion": 1.5 if mesh else None}
    elif case.group == "flap":
        width = round(case.wound.width_cm * 1.1, 1)
        supply = ARTERIES.get(case.wound.region, "other") if case.method == "flap_axial" else _supply(case.method)
        found |= {
            "flap_length_cm": round(width * rng.uniform(1.8, 2.8), 1),
            "flap_width_cm": width,
            "flap_supply": supply,
        }
    elif case.group in ("no_graft", "closure", "not_done"):
        found |= {"graft_area_cm2": NA, "uncovered_area_cm2": None}
    return found


def _supply(method: str) -> str:
    return {"flap_free_microvascular": "omocervical", "flap_myocutaneous": "other"}.get(method, "subdermal")


def donor_row(rng: np.random.Generator, case: Case, area_cm2: float) -> Row:
    """The row of sheet donor_sites: lax skin of the trunk, or a pad for pad grafts."""
    pad, left_open = case.method == "pad_segmental", case.method == "punch" and rng.random() < 0.4
    closure = "left_open" if left_open or case.method.endswith("split") else "primary"
    state = (
        "none_placed"
        if closure == "left_open"
        else pick(rng, ("all_out",) * 13 + ("absorbable",) * 3 + ("staples_out",) * 2)
    )
    out = int(np.clip(round(rng.normal(10.5, 1.6)), 7, 14))
    removable = state in ("all_out", "staples_out")
    seen = removable and out <= case.course.exit_day
    healed = out + int(rng.integers(0, 3)) if closure == "primary" else int(rng.integers(12, 22))
    watched = healed <= case.course.exit_day
    return {
        **case.key,
        "donor_number": 1,
        "donor_region": "pad_digital" if pad else pick(rng, ("thorax", "thorax", "flank", "flank", "abdomen", "neck")),
        "donor_side": pick(rng, ("left", "right")),
        "donor_closure": closure,
        "suture_state": state if seen or not removable else "not_recorded",
        "suture_out_date": case.on(out) if seen else "not_recorded" if removable else NA,
        "last_open_date": case.on(max(0, healed - 3)) if watched else None,
        "first_healed_date": case.on(healed) if watched else None,
        "donor_area_cm2": round(area_cm2 * 1.1, 1),
        "donor_length_cm": round(case.wound.length_cm * 1.2, 1),
    }


def exit_row(case: Case, visits: Sequence[Row]) -> Row:
    """The row of sheet exits, in keeping with the visits of that case."""
    last = visits[-1]["contact"] if visits else "clinic"
    mode, evidence = _EVIDENCE.get(str(last), ("seen", "seen"))
    if case.course.exit_reason not in ("healed_and_followed", "healed_then_lost", "lost_before_healing"):
        mode, evidence = "seen", "seen"
    return {
        **case.key,
        "exit_reason": case.course.exit_reason,
        "exit_date": case.on(case.course.exit_day),
        "last_seen_date": max((v["visit_date"] for v in visits if v["contact"] in SEEN), default=case.surgery),
        "last_contact_mode": mode,
        "exit_evidence": evidence,
    }
