"""The invented row that every sheet of the template begins with."""

import datetime as dt

from audit.dictionary import Field

EXAMPLE = "EXAMPLE"
"""The patient number of the example row, which is never read."""

_VALUES: dict[str, object] = {
    "patient_number": EXAMPLE, "wound_letter": "A", "operation_number": 1, "donor_number": 1, "age_years": 4.5,
    "breed": "lurcher", "breed_group": "large", "coat": "short", "comorbidity": ("none",),
    "healing_drug": ("none",), "region": "metatarsus", "side": "left", "length_cm": 8, "width_cm": 5,
    "area_cm2": 31.4, "area_method": "ellipse_from_lw", "wound_date": dt.date(2024, 4, 22), "aspect": "lateral",
    "circumference_pct": 40, "perimeter_cm": 22, "bed_preparation_days": 14, "bed_grade": "g3",
    "earlier_closures": 0, "surgery_date": dt.date(2024, 5, 6), "planned_method": "mesh_full",
    "done_method": "mesh_full", "recipient_bed": "granulating", "graft_area_cm2": 31.4,
    "pieces_placed": "not_applicable", "body_mass_kg": 28.5, "timing": "delayed", "thickness": "full",
    "meshed": "yes", "mesh_expansion": 1.5, "piece_size_mm": "not_applicable", "uncovered_area_cm2": 0, "asa": 2,
    "asa_emergency": "no", "bcs": 5, "bcs_scale": "of_9", "surgery_min": 95, "anaesthesia_min": 130,
    "fixation": ("suture", "bolster"), "npwt_days": 0, "surgeon_code": "S1", "branch_code": "B1",
    "donor_region": "thorax", "donor_side": "left", "suture_out_date": dt.date(2024, 5, 16),
    "last_open_date": dt.date(2024, 5, 13), "first_healed_date": dt.date(2024, 5, 16), "donor_area_cm2": 36,
    "donor_length_cm": 9, "visit_date": dt.date(2024, 5, 16), "contact": "clinic", "viable_pct": 90, "lost_pct": 5,
    "uncertain_pct": 5, "epithelialised": "no", "bandage_changed": "yes", "graft_visible": "yes",
    "loss_depth": "full_thickness", "open_area_cm2": 2.5, "open_perimeter_cm": 7, "graft_outline_cm2": 28,
    "pieces_alive": "not_applicable", "pieces_seen": "not_applicable", "assessor_code": "N2",
    "assessor_role": "nurse", "assessor_operated": "no", "colour": ("pink",), "bandage_state": ("intact",),
    "photo_code": "F17", "next_planned_date": dt.date(2024, 5, 20), "photo_date": dt.date(2024, 8, 12),
    "item": "hair", "value": 3, "rater_code": "N2", "rater_role": "nurse", "order_number": 1, "scale": "hair-v1",
    "is_repeat": "no", "complication": "partial_necrosis", "site": "recipient",
    "first_seen_date": dt.date(2024, 5, 16), "last_free_date": dt.date(2024, 5, 13),
    "resolved_date": dt.date(2024, 6, 3), "action": ("debride_conscious",), "extent_pct": 5,
    "class": "complication", "infection_basis": "not_applicable", "exit_reason": "healed_and_followed",
    "exit_date": dt.date(2024, 8, 12), "last_seen_date": dt.date(2024, 8, 12), "last_contact_mode": "seen",
    "exit_evidence": "seen", "grade": "not_applicable", "grade_reason": "not_applicable",
}  # fmt: skip


def example_value(field: Field) -> object:
    """What the example row has in that field; the first word of its list where none was chosen."""
    if field.name in _VALUES:
        return _VALUES[field.name]
    return field.words[0] if field.codes else "not_recorded"
