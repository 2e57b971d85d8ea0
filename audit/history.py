"""What a load changes: rows are added and ended, never overwritten, so that the last load can be taken back."""

from collections.abc import Iterator
from dataclasses import dataclass

import duckdb

from audit import schema
from audit.dictionary import TABLES, Table
from audit.errors import StoreError

MOST_LISTED = 1000
MOST_NAMED = 20
CASE = "animal || '-' || wound || operation"


@dataclass(frozen=True, slots=True)
class TableChanges:
    """How many rows of one table were added, changed, ended and left as they were."""

    table: str
    added: int
    changed: int
    ended: int
    unchanged: int


@dataclass(frozen=True, slots=True)
class Changes:
    """
    What a load, or taking it back, did to the store; `load_id` is None when nothing changed.

    `rows` names the first thousand touched rows as (table, row, what), what being added, changed or ended;
    `unlisted` counts the others.
    """

    load_id: int | None
    tables: tuple[TableChanges, ...]
    rows: tuple[tuple[str, str, str], ...]

    @property
    def totals(self) -> tuple[int, int, int]:
        """Rows added, changed and ended, over all tables."""
        return (
            sum(table.added for table in self.tables),
            sum(table.changed for table in self.tables),
            sum(table.ended for table in self.tables),
        )

    @property
    def touched(self) -> int:
        """Rows added, changed or ended, over all tables."""
        return sum(self.totals)

    @property
    def unlisted(self) -> int:
        """Touched rows that `rows` does not name."""
        return self.touched - len(self.rows)

    @property
    def is_empty(self) -> bool:
        """True where the file held nothing new."""
        return self.touched == 0


def next_load(connection: duckdb.DuckDBPyConnection) -> int:
    """The number of the load that comes next."""
    return _number(connection, "select coalesce(max(load_id), 0) + 1 from loads")


def last_load(connection: duckdb.DuckDBPyConnection) -> int:
    """The number of the last load. Raises StoreError when there is none."""
    last = next_load(connection) - 1
    if not last:
        raise StoreError("nothing was loaded into this store, so there is no load to take back")
    return last


def refuse_faults(connection: duckdb.DuckDBPyConnection) -> None:
    """
    Raise StoreError naming all that is wrong with the incoming rows.

    They may not share a key, lack a parent, or hold what the dictionary does not allow; the tables have no conditions
    of their own, so that a new code or range leaves older stores readable.
    """
    faults = [
        fault for find in (_repeated, _orphans, _bad_values) for table in TABLES for fault in find(connection, table)
    ]
    if faults:
        more = f"; and {len(faults) - MOST_NAMED} more" if len(faults) > MOST_NAMED else ""
        raise StoreError(f"{'; '.join(faults[:MOST_NAMED])}{more}. Nothing was loaded; mend these and load again")


def take_in(connection: duckdb.DuckDBPyConnection, load: int) -> Changes:
    """Add what is new in the incoming rows and end what they no longer hold, for the animals that they name."""
    for table in TABLES:
        same = " and ".join(f"old.{column} is not distinct from new.{column}" for column in schema.columns(table))
        current = f"{table.name} as old where old.ended_by is null and old.load_id < {load}"
        named = f"{current} and old.animal in (select animal from incoming_animals)"
        has_old = _number(connection, f"select count(*) from (select 1 from {named} limit 1)")
        fresh = f"where not exists (select 1 from {current} and {same})" if has_old else ""
        connection.execute(
            f"insert into {table.name} by name select new.*, {load} as load_id, null as ended_by "
            f"from incoming_{table.name} as new {fresh}"
        )
        if has_old:
            connection.execute(
                f"update {table.name} as old set ended_by = {load} where old.ended_by is null and old.load_id < {load} "
                "and old.animal in (select animal from incoming_animals) "
                f"and not exists (select 1 from incoming_{table.name} as new where {same})"
            )
    return changes(connection, load, came="load_id", went="ended_by")


def take_back(connection: duckdb.DuckDBPyConnection, load: int) -> Changes:
    """Restore the store as it was before that load, which must be the last."""
    undone = changes(connection, load, came="ended_by", went="load_id")
    for table in TABLES:
        connection.execute(f"delete from {table.name} where load_id = {load}")
        connection.execute(f"update {table.name} set ended_by = null where ended_by = {load}")
    connection.execute(f"delete from loads where load_id = {load}")
    return undone


def changes(connection: duckdb.DuckDBPyConnection, load: int, *, came: str, went: str) -> Changes:
    """Compare the rows whose `came` column is that load with those whose `went` column is."""
    counted: list[TableChanges] = []
    rows: list[tuple[str, str, str]] = []
    for table in TABLES:
        keys = ", ".join(table.key_columns)
        same = " and ".join(f"a.{key} is not distinct from b.{key}" for key in table.key_columns)
        new, gone, kept = connection.execute(
            f"select count(*) filter ({came} = {load}), count(*) filter ({went} = {load}), "
            f"count(*) filter (ended_by is null and load_id <> {load}) from {table.name}"
        ).fetchone() or (0, 0, 0)
        had = f"exists (select 1 from {table.name} as b where b.{went} = {load} and {same})" if gone else "false"
        has = f"exists (select 1 from {table.name} as b where b.{came} = {load} and {same})"
        changed = _number(connection, f"select count(*) from {table.name} as a where a.{came} = {load} and {had}")
        counted.append(TableChanges(table.name, new - changed, changed, gone - changed, kept))
        listed = connection.execute(
            f"select {_row(table)}, if({had}, 'changed', 'added'), {keys} from {table.name} as a "
            f"where a.{came} = {load} union all "
            f"select {_row(table)}, 'ended', {keys} from {table.name} as a where a.{went} = {load} and not {has} "
            f"order by {keys} limit {MOST_LISTED - len(rows)}"
        )
        rows += [(table.name, row[0], row[1]) for row in listed.fetchall()]
    touched = any(each.added or each.changed or each.ended for each in counted)
    return Changes(load if touched else None, tuple(counted), tuple(rows))


def _row(table: Table) -> str:
    others = [key for key in table.key_columns if key not in ("animal", "wound", "operation")]
    case = {1: "animal", 2: "animal || '-' || wound"}.get(len(table.key_columns), CASE)
    return f"concat_ws(' ', {', '.join([case, *others])})"


def _repeated(connection: duckdb.DuckDBPyConnection, table: Table) -> Iterator[str]:
    keys = ", ".join(table.key_columns)
    twice = connection.execute(
        f"select {_row(table)}, count(*) from incoming_{table.name} group by {keys} having count(*) > 1 order by {keys}"
    ).fetchall()
    yield from (f"{table.name}: the row {row} stands there {n} times" for row, n in twice)


def _orphans(connection: duckdb.DuckDBPyConnection, table: Table) -> Iterator[str]:
    parent = {2: TABLES[0], 3: TABLES[1]}.get(len(table.key_columns), TABLES[2])
    if table is TABLES[0]:
        return
    keys = parent.key_columns
    same = " and ".join(f"parent.{key} = child.{key}" for key in keys)
    alone = connection.execute(
        f"select distinct {', '.join(keys)} from incoming_{table.name} as child "
        f"where not exists (select 1 from incoming_{parent.name} as parent where {same}) order by all"
    ).fetchall()
    yield from (f"{table.name}: {' '.join(map(str, row))} is not among the {parent.name}" for row in alone)


def _bad_values(connection: duckdb.DuckDBPyConnection, table: Table) -> Iterator[str]:
    tests = {column: f"not coalesce({sql}, true)" for column, sql in schema.conditions(table).items()}
    for column in schema.required(table):
        tests[column] = f"{column} is null or {tests.get(column, 'false')}"
    columns = list(tests)
    counts = ", ".join(f"count(*) filter (where {tests[column]})" for column in columns)
    firsts = ", ".join(f"any_value({column}::varchar) filter (where {tests[column]})" for column in columns)
    found = connection.execute(f"select {counts}, {firsts} from incoming_{table.name}").fetchone() or ()
    for column, count, first in zip(columns, found, found[len(columns) :], strict=False):
        if count:
            shown = "blank" if first is None else repr(first)
            yield f"{table.name}: {count} with {column} {shown}, which is not allowed"


def _number(connection: duckdb.DuckDBPyConnection, sql: str) -> int:
    return int((connection.execute(sql).fetchone() or (0,))[0])
