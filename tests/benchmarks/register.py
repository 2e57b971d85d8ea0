"""
A pooled register of any size, invented, as one Parquet file a table: for measuring speed, not for learning anything.

The files have the columns of the store (pseudonyms and days, no dates), so they can be loaded as they are. Every value
follows from the hash of the row's number and the seed: the same call gives the same rows on the same DuckDB.
"""

from pathlib import Path

import duckdb

from audit import dictionary
from audit.codes import METHOD
from audit.dictionary import Field, Table
from tests.benchmarks.register_columns import FROM, GIVEN, KEY

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
    given = KEY | GIVEN[table.name]
    row = "row" if table.name in ("visits", "scores") else "r"
    columns = [f"({given.get(f.column) or _any(f, row)})::{_type(f)} as {f.column}" for f in table.fields]
    columns += [f"{given[extra.name]} as {extra.name}" for extra in dictionary.DERIVED.get(table.name, ())]
    often_blank = next((f for f in table.fields if not (f.core or f.wanted or f.column in given)), None)
    absent = "[]::varchar[]"
    if often_blank:
        absent = f"if({often_blank.column} is null, ['{often_blank.name}=not_recorded'], [])"
    return f"select *, {absent} as absent from (select {', '.join(columns)} from {FROM[table.name]})"


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
