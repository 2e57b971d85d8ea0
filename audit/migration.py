"""The layout of a store's tables by number: a new store walks all of queries/schema, an older one what it lacks."""

import shutil
from datetime import date
from pathlib import Path

import duckdb

from audit import schema
from audit.dictionary import TABLES
from audit.engine import queries
from audit.errors import StoreError


def latest() -> int:
    """The number of the last file of queries/schema, which is the layout that this version reads."""
    return max(_numbered())


def number_of(connection: duckdb.DuckDBPyConnection) -> int | None:
    """The number of the layout of an open database; None where its tables are not ours."""
    rows = connection.execute("select table_name from information_schema.tables where table_schema = 'main'").fetchall()
    names = {name for (name,) in rows}
    if not {table.name for table in TABLES} <= names:
        return None
    if "schema_number" in names:
        return int((connection.execute("select number from schema_number").fetchone() or (0,))[0])
    return 1 if "made_from" in names else None  # version 0.1.0 wrote a digest of its dictionary instead of a number


def migrate(connection: duckdb.DuckDBPyConnection, number: int) -> None:
    """
    Bring tables of that layout (0: none yet) to the latest one, all or nothing; every row and load stays.

    Raises StoreError where the tables are not what their number says.
    """
    connection.execute("begin")
    try:
        for step, text in sorted(_numbered().items()):
            if step > number:
                connection.execute(text)
        connection.execute("delete from schema_number")
        connection.execute("insert into schema_number values (?)", [latest()])
        _refuse_other_columns(connection, is_new=not number)
        connection.execute("commit")
    except BaseException:
        connection.execute("rollback")
        raise


def backup_before(path: Path, number: int, on: date) -> Path:
    """
    Copy a closed store beside itself, under a name with the day and its layout, and return the copy.

    Raises StoreError where the copy cannot be written or is there already with other content.
    """
    copy = path.with_name(f"{path.stem}.{on.isoformat()}-schema-{number}{path.suffix}")
    draft = copy.with_name(copy.name + ".draft")
    if copy.exists():
        raise StoreError(f"{copy} is there already; move it elsewhere, so that the store can be kept as it was")
    try:
        shutil.copyfile(path, draft)
        draft.rename(copy)
    except OSError as error:
        draft.unlink(missing_ok=True)
        raise StoreError(
            f"{path} cannot be kept as it was before its migration: {error}; make room beside it"
        ) from None
    return copy


def _numbered() -> dict[int, str]:
    return {int(name.split("_")[0]): text for name, text in queries("schema").items()}


def _refuse_other_columns(connection: duckdb.DuckDBPyConnection, *, is_new: bool) -> None:
    for table in TABLES:
        wanted = schema.columns(table) | {"load_id": "INTEGER", "ended_by": "INTEGER"}
        present = connection.sql(f"select * from {table.name} limit 0").columns
        missing, foreign = sorted(set(wanted) - set(present)), sorted(set(present) - set(wanted))
        if missing or foreign:
            advice = "the store stays as it was, load its workbooks into a new one"
            if is_new:  # no store is at fault: a field of the dictionary came or went without its migration
                steps = [f"alter table {table.name} add column {name} {wanted[name].lower()};" for name in missing]
                steps += [f"alter table {table.name} drop column {name};" for name in foreign]
                advice = f"write queries/schema/{latest() + 1:04}_NAME.sql with: {' '.join(steps)}"
            raise StoreError(f"table {table.name} of the store lacks {missing} and has {foreign}; {advice}")
