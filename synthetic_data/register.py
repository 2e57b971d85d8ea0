"""
A pooled register of any size, invented, as one Parquet file a table: for measuring speed, not for learning anything.

The files have the columns of the store (pseudonyms and days, no dates), so they can be loaded as they are. Every value
follows from the hash of the row's number and the seed: the same call gives the same rows on the same DuckDB.
"""

from collections.abc import Mapping
from pathlib import Path

import duckdb

from audit import dictionary
from audit.codes import METHOD
from audit.dictionary import Field, Table

_MACROS = (
    "create macro u(row, salt) as hash(row, salt, getvariable('seed')) / 18446744073709551616.0",
    "create macro pick(row, salt, words) as words[1 + (u(row, salt) * len(words))::int % len(words)]",
    "create macro between_days(row, salt, low, high) as low + floor(u(row, salt) * (high - low + 1))::int",
    "create macro token(number) as printf('%012x', ((number + 1)::bigint * 25214903917) % 281474976710656)",
)
_COMMON = ("mesh_full",) * 6 + ("punch",) * 4 + ("sheet_full",) * 3 + ("flap_axial",) * 2
_METHODS = [*_COMMON, *(code.name for code in METHOD if code.name != "not_done")]

# Ten operations belong to eight animals: the ninth is a second wound of the first, the tenth a re-graft of the second.
_CASES = """
create temp table cases as
with numbered as (
    select
        r, (r // 10) * 8 + case r % 10 when 8 then 0 when 9 then 1 else r % 10 end as number,
        if(r % 10 = 8, 'B', 'A') as wound, if(r % 10 = 9, 2, 1) as operation, r % 10 = 1 and r + 8 < $n as goes_wrong
    from range($n) as rows(r)
), drawn as (
    select
        *, token(number) as animal, if(u(number, 'species') < 0.72, 'dog', 'cat') as species,
        pick(r, 'method', $methods) as method, u(number, wound || 'region') < 0.7 as is_distal,
        round(1 + 99 * pow(u(number, wound || 'area'), 3), 1) as area, u(r, 'take') < 0.82 as takes,
        sqrt(-2 * ln(1 - u(r, 'a'))) * cos(2 * pi() * u(r, 'b')) as z, u(r, 'exit') as chance,
        between_days(number, 'month', 0, 107) as month, between_days(number, 're-graft', 16, 40) as wrong_day
    from numbered
), ended as (
    select
        *, greatest(8, round(if(species = 'cat', 23, 27) * if(is_distal, 1.1, 1) * exp(0.4 * z)))::int as heals_day,
        case
            when goes_wrong then 're_grafted' when chance < 0.1 then 'lost'
            when chance < 0.14 then pick(r, 'event', ['died_unrelated', 'died_related', 'euthanased_financial',
                'amputated_wound', 'amputated_other', 'converted_other_method'])
        end as early,
        if(goes_wrong, wrong_day, if(chance < 0.14, between_days(r, 'left', 3, 80), 120)) as exit_day
    from drawn
)
select
    *,
    list_filter(
        list_transform([1, 4, 7, 10, 14, 21, 28, 42, 60, 90], lambda day: day + (hash(r, day) % 2)::int),
        lambda day: day <= exit_day
    ) as days
from ended
"""

_KEY = {"animal": "animal", "wound": "wound", "operation": "operation"}
_SEEN = "list_max(days) >= heals_day"
_PIECE = "method in ('strip', 'punch', 'stamp', 'pad_segmental')"
_MESH = "starts_with(method, 'mesh')"
_FLAP = "starts_with(method, 'flap')"
_HEALED = "day >= heals_day"
_VIABLE = "if(takes, between_days(r, 'viable', 75, 100), between_days(r, 'viable', 0, 74))"

_FROM = {
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
_GIVEN: Mapping[str, Mapping[str, str]] = {
    "animals": {
        "species": "species", "breed": "if(species = 'cat', 'domestic_shorthair', 'crossbreed')",
        "breed_group": "if(species = 'cat', 'cat_short_coat', 'medium')", "comorbidity": "['none']",
        "age_years": "round(0.5 + 14 * u(r, 'age'), 1)",
    },
    "wounds": {
        "region": "if(is_distal, pick(r, 'distal', ['antebrachium', 'carpus', 'metacarpus', 'tarsus', 'metatarsus']), "
        "pick(r, 'proximal', ['thorax', 'flank', 'thigh', 'elbow', 'head']))",
        "length_cm": "round(sqrt(area) * 1.3, 1)", "width_cm": "greatest(0.2, round(sqrt(area), 1))", "area_cm2": "area",
        "wound_day": "-between_days(r, 'wound', 0, 40)", "perimeter_cm": "round(4.2 * sqrt(area), 1)",
    },
    "reconstructions": {
        "surgery_month": "strftime(date '2016-01-01' + to_months((month + if(operation = 2, 1, 0))::int), '%Y-%m')",
        "planned_method": "method", "done_method": "method", "graft_area_cm2": "area", "uncovered_area_cm2": "0.0",
        "pieces_placed": f"if({_PIECE}, between_days(r, 'pieces', 6, 60), null)", "meshed": _MESH,
        "body_mass_kg": "round(if(species = 'cat', 3 + 3 * u(r, 'kg'), 4 + 40 * u(r, 'kg')), 1)",
        "mesh_expansion": f"if({_MESH}, 1.5, null)", "piece_size_mm": f"if({_PIECE}, 6.0, null)",
        "flap_length_cm": f"if({_FLAP}, 12.0, null)", "flap_width_cm": f"if({_FLAP}, 6.0, null)",
        "flap_supply": f"if({_FLAP}, 'subdermal', null)", "method_word": "if(method = 'punch', 'punch', null)",
        "thickness": "if(ends_with(method, 'full'), 'full', if(ends_with(method, 'split'), 'split_thin', null))",
        "running_order": "row_number() over (partition by month + if(operation = 2, 1, 0) order by r)::int",
        "clock_day": "if(operation = 2, wrong_day, 0)", "bcs": "between_days(r, 'bcs', 3, 7)", "bcs_scale": "'of_9'",
    },
    "donor_sites": {
        "donor": "1", "donor_region": "pick(r, 'donor', ['thorax', 'flank', 'abdomen'])", "donor_closure": "'primary'",
        "suture_state": "'all_out'", "suture_out_day": "between_days(r, 'out', 7, 14)",
    },
    "visits": {
        "visit_day": "day", "contact": "pick(row, 'contact', ['clinic', 'clinic', 'inpatient', 'home_visit'])",
        "bandage_changed": f"not ({_HEALED})", "graft_visible": "day >= 4", "epithelialised": f"if({_HEALED}, 'yes', 'no')",
        "viable_pct": f"if(day >= 4, {_VIABLE}, null)", "lost_pct": f"if(day >= 4, 100 - {_VIABLE}, null)",
        "uncertain_pct": "if(day >= 4, 0, null)", "loss_depth": "if(day < 4, null, if(takes, 'none', 'full_thickness'))",
        "open_area_cm2": f"if({_HEALED}, 0, greatest(0.1, round(area * (1 - day / heals_day), 1)))",
        "open_perimeter_cm": f"if({_HEALED}, 0, round(4.2 * sqrt(area * (1 - day / heals_day)), 1))",
        "graft_outline_cm2": "round(area * 0.85, 1)", "scheduled": "if(u(row, 'prompted') < 0.1, 'prompted', 'scheduled')",
        "pieces_alive": "null", "pieces_seen": "null",
    },
    "scores": {
        "photo_day": "90", "item": "item", "value": "between_days(row, 'value', 0, top)", "rater_code": "token(rater + 7)",
        "rater_role": "if(rater = 0, 'surgeon', 'other_vet')", "blinded_to_method": "rater = 1", "clipped": "'unclipped'",
        "scale": "pick(r, item, [if(item = 'hair', 'hair-v1', if(item = 'use', 'use-v1', 'look-v1'))])", "is_repeat": "false",
    },
    "complications": {
        "complication": "if(takes, pick(r, 'what', ['seroma', 'epidermal_slough', 'infection_superficial', 'oedema']), "
        "'partial_necrosis')", "site": "'recipient'", "first_seen_day": "days[1 + r % len(days)]",
        "complication_class": "'complication'", "grade": "null", "grade_reason": "null", "infection_basis": "null",
    },
    "exits": {
        "exit_reason": f"case when early = 'lost' then if({_SEEN}, 'healed_then_lost', 'lost_before_healing') "
        f"when early is not null then early when {_SEEN} then 'healed_and_followed' else 'still_open_at_lock' end",
        "exit_day": "exit_day", "last_seen_day": "list_max(days)", "last_contact_mode": "'seen'", "exit_evidence": "'seen'",
    },
}  # fmt: skip
_TYPES = {"key": "varchar", "code": "varchar", "token": "varchar", "codes": "varchar[]", "yes_no": "boolean",
          "whole": "integer", "number": "double", "date": "integer"}  # fmt: skip


def write_register(folder: Path, *, reconstructions: int = 1_000_000, seed: int = 1) -> dict[str, Path]:
    """Write `TABLE.parquet` for every table of the store into the folder and return their paths by table name."""
    folder.mkdir(parents=True, exist_ok=True)
    written = {table.name: folder / f"{table.name}.parquet" for table in dictionary.TABLES}
    with duckdb.connect() as connection:
        connection.execute("set variable seed = $seed", {"seed": seed})
        for macro in _MACROS:
            connection.execute(macro)
        connection.execute(_CASES, {"n": reconstructions, "methods": _METHODS})
        for table in dictionary.TABLES:
            connection.execute(f"copy ({_select(table)}) to $path (format parquet)", {"path": str(written[table.name])})
    return written


def _select(table: Table) -> str:
    given = _KEY | _GIVEN[table.name]
    row = "row" if table.name in ("visits", "scores") else "r"
    columns = [f"({given.get(f.column) or _any(f, row)})::{_type(f)} as {f.column}" for f in table.fields]
    columns += [f"{given[extra.name]} as {extra.name}" for extra in dictionary.DERIVED.get(table.name, ())]
    often_blank = next((f for f in table.fields if not (f.core or f.wanted or f.column in given)), None)
    absent = "[]::varchar[]"
    if often_blank:
        absent = f"if({often_blank.column} is null, ['{often_blank.name}=not_recorded'], [])"
    return f"select *, {absent} as absent from (select {', '.join(columns)} from {_FROM[table.name]})"


def _type(field: Field) -> str:
    if field.column == "surgery_month":
        return "varchar"
    return "integer" if field.column in ("operation", "donor") else _TYPES[field.kind]


def _any(field: Field, row: str) -> str:
    """SQL for a value within the dictionary: core always, optional four times in five, merely wanted never."""
    if field.wanted:
        return "null"
    chance, words = f"u({row}, '{field.name}')", list(field.words)
    value = {
        "code": f"pick({row}, '{field.name}', {words})",
        "codes": f"[pick({row}, '{field.name}', {words})]",
        "yes_no": f"{chance} < 0.5",
        "token": f"token(1 + floor({chance} * 20)::int)",
        "date": "null",
    }.get(field.kind) or f"{field.low} + floor({chance} * {min(field.high or 0, 60) - (field.low or 0)})"
    return value if field.core else f"if(u({row}, '{field.name}?') < 0.2, null, {value})"
