"""What the columns of the invented register are made of: SQL over `cases`, a row a reconstruction."""

KEY = {"animal": "animal", "wound": "wound", "operation": "operation"}
_SEEN = "list_max(days) >= heals_day"
_PIECE = "method in ('strip', 'punch', 'stamp', 'pad_segmental')"
_MESH = "starts_with(method, 'mesh')"
_FLAP = "starts_with(method, 'flap')"
_HEALED = "day >= heals_day"
_VIABLE = "if(takes, between_days(r, 'viable', 75, 100), between_days(r, 'viable', 0, 74))"

FROM: dict[str, str] = {
    "animals": "cases where wound = 'A' and operation = 1",
    "wounds": "cases where operation = 1",
    "reconstructions": "cases",
    "donor_sites": "cases where method in ('mesh_full', 'mesh_split', 'sheet_full', 'sheet_split', 'punch', 'strip')",
    "visits": "(select * exclude (r), r, hash(r, day) as row, day from (select *, unnest(days) as day from cases))",
    "scores": "(select *, hash(r, item, rater) as row from cases, (values ('hair', 4), ('look_edge', 3), ('use', 3)) as"
    " items(item, top), range(2) as raters(rater) where list_max(days) >= 90 and u(r, 'scored') < 0.4)",
    "complications": "cases where u(r, 'complication') < 0.25",
    "exits": "cases",
}
GIVEN: dict[str, dict[str, str]] = {
    "animals": {
        "species": "species",
        "breed": "if(species = 'cat', 'domestic_shorthair', 'crossbreed')",
        "breed_group": "if(species = 'cat', 'cat_short_coat', 'medium')",
        "comorbidity": "['none']",
        "age_years": "round(0.5 + 14 * u(r, 'age'), 1)",
    },
    "wounds": {
        "region": "if(is_distal, pick(r, 'distal', ['antebrachium', 'carpus', 'metacarpus', 'tarsus', 'metatarsus']), "
        "pick(r, 'proximal', ['thorax', 'flank', 'thigh', 'elbow', 'head']))",
        "length_cm": "round(sqrt(area) * 1.3, 1)",
        "width_cm": "greatest(0.2, round(sqrt(area), 1))",
        "area_cm2": "area",
        "wound_day": "-between_days(r, 'wound', 0, 40)",
        "perimeter_cm": "round(4.2 * sqrt(area), 1)",
    },
    "reconstructions": {
        "surgery_month": "strftime(date '2016-01-01' + to_months((month + if(operation = 2, 1, 0))::int), '%Y-%m')",
        "planned_method": "method",
        "done_method": "method",
        "graft_area_cm2": "area",
        "uncovered_area_cm2": "0.0",
        "pieces_placed": f"if({_PIECE}, between_days(r, 'pieces', 6, 60), null)",
        "meshed": _MESH,
        "body_mass_kg": "round(if(species = 'cat', 3 + 3 * u(r, 'kg'), 4 + 40 * u(r, 'kg')), 1)",
        "mesh_expansion": f"if({_MESH}, 1.5, null)",
        "piece_size_mm": f"if({_PIECE}, 6.0, null)",
        "flap_length_cm": f"if({_FLAP}, 12.0, null)",
        "flap_width_cm": f"if({_FLAP}, 6.0, null)",
        "flap_supply": f"if({_FLAP}, 'subdermal', null)",
        "method_word": "if(method = 'punch', 'punch', null)",
        "thickness": "if(ends_with(method, 'full'), 'full', if(ends_with(method, 'split'), 'split_thin', null))",
        "running_order": "row_number() over (partition by month + if(operation = 2, 1, 0) order by r)::int",
        "clock_day": "if(operation = 2, wrong_day, 0)",
        "bcs": "between_days(r, 'bcs', 3, 7)",
        "bcs_scale": "'of_9'",
    },
    "donor_sites": {
        "donor": "1",
        "donor_region": "pick(r, 'donor', ['thorax', 'flank', 'abdomen'])",
        "donor_closure": "'primary'",
        "suture_state": "'all_out'",
        "suture_out_day": "between_days(r, 'out', 7, 14)",
    },
    "visits": {
        "visit_day": "day",
        "contact": "pick(row, 'contact', ['clinic', 'clinic', 'inpatient', 'home_visit'])",
        "bandage_changed": f"not ({_HEALED})",
        "graft_visible": "day >= 4",
        "epithelialised": f"if({_HEALED}, 'yes', 'no')",
        "viable_pct": f"if(day >= 4, {_VIABLE}, null)",
        "lost_pct": f"if(day >= 4, 100 - {_VIABLE}, null)",
        "uncertain_pct": "if(day >= 4, 0, null)",
        "loss_depth": "if(day < 4, null, if(takes, 'none', 'full_thickness'))",
        "open_area_cm2": f"if({_HEALED}, 0, greatest(0.1, round(area * (1 - day / heals_day), 1)))",
        "open_perimeter_cm": f"if({_HEALED}, 0, round(4.2 * sqrt(area * (1 - day / heals_day)), 1))",
        "graft_outline_cm2": "round(area * 0.85, 1)",
        "scheduled": "if(u(row, 'prompted') < 0.1, 'prompted', 'scheduled')",
        "pieces_alive": "null",
        "pieces_seen": "null",
    },
    "scores": {
        "photo_day": "90",
        "item": "item",
        "value": "between_days(row, 'value', 0, top)",
        "rater_code": "token(rater + 7)",
        "rater_role": "if(rater = 0, 'surgeon', 'other_vet')",
        "blinded_to_method": "rater = 1",
        "clipped": "'unclipped'",
        "scale": "pick(r, item, [if(item = 'hair', 'hair-v1', if(item = 'use', 'use-v1', 'look-v1'))])",
        "is_repeat": "false",
    },
    "complications": {
        "complication": "if(takes, pick(r, 'what', ['seroma', 'epidermal_slough', 'infection_superficial', 'oedema']), "
        "'partial_necrosis')",
        "site": "'recipient'",
        "first_seen_day": "days[1 + r % len(days)]",
        "complication_class": "'complication'",
        "grade": "null",
        "grade_reason": "null",
        "infection_basis": "null",
    },
    "exits": {
        "exit_reason": f"case when early = 'lost' then if({_SEEN}, 'healed_then_lost', 'lost_before_healing') "
        f"when early is not null then early when {_SEEN} then 'healed_and_followed' else 'still_open_at_lock' end",
        "exit_day": "exit_day",
        "last_seen_day": "list_max(days)",
        "last_contact_mode": "'seen'",
        "exit_evidence": "'seen'",
    },
}
