"""The store: one DuckDB file, and the only module that opens it or reads a .sql file."""

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

import duckdb

from audit import history, schema
from audit.dictionary import TABLES
from audit.errors import StoreError
from audit.history import Changes
from audit.protocol import Protocol

if TYPE_CHECKING:
    from pandas import DataFrame

_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
_STAGING, _SHAPES = "staging", ("marts", "tallies")
_NEEDS = re.compile(r"\b(?:from|join)\s+(\w+)", re.IGNORECASE)


class Store:
    """
    A store that is open; `open_store` makes one. Use it as a context manager.

    Rows come back as data frames of stable types, whether or not a column has blanks: whole numbers Int64, yes/no
    boolean, numbers float64, words object.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection
        self._shapes: dict[str, str] = {}
        self._defined: set[str] = set()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file, so that another program may open it."""
        self._connection.close()

    def load(self, tables: "Mapping[str, DataFrame | Path]", *, fingerprint: str, on: date) -> Changes:
        """
        Take in the tables of one file, a data frame or a Parquet file each, and tell what changed.

        The file speaks for every animal in its `animals`: their rows that it no longer holds are ended, changed rows
        are ended and added anew, and no other animal is touched. A table that is not given has no rows.
        All or nothing: raises StoreError, naming every fault, and leaves the store as it was.
        """
        try:
            with self._all_or_nothing():
                self._stage(tables)
                history.refuse_faults(self._connection)
                load = history.next_load(self._connection)
                changes = history.take_in(self._connection, load)
                if not changes.is_empty:
                    self._connection.execute(
                        "insert into loads values (?, ?, ?, ?, ?, ?)", [load, on, fingerprint, *changes.totals]
                    )
        except duckdb.ConstraintException:
            self._stage(tables)
            history.refuse_values(self._connection)  # the condition of a table stops at its first row; this names all
            raise
        return changes

    def undo(self) -> Changes:
        """Take the last load back and tell what changed. Raises StoreError when there is none."""
        with self._all_or_nothing():
            return history.take_back(self._connection, history.last_load(self._connection))

    def loads(self) -> "DataFrame":
        """One row a load: load_id, loaded_on, fingerprint, rows_added, rows_changed, rows_ended."""
        return _frame(self._connection.sql("select * from loads order by load_id"))

    def bind(self, protocol: Protocol) -> None:
        """Let the protocol decide what `rows` counts from now on."""
        _write(self._connection, schema.of_protocol(protocol) | schema.of_dictionary())
        self._shapes = {name: sql for folder in (_STAGING, *_SHAPES) for name, sql in queries(folder).items()}
        self._defined.clear()

    def rows(self, name: str) -> "DataFrame":
        """
        The whole of a staging view, mart or tally by the name of its file, ordered by its columns from the left.

        Raises StoreError when there is none of that name, or when no protocol was bound.
        """
        if not self._shapes:
            raise StoreError(f"{name} depends on the definitions of a protocol; bind one to the store first")
        if name not in self._shapes:
            raise StoreError(f"there is no query {name}; there are: {', '.join(sorted(self._shapes))}")
        self.define(name)
        return _frame(self._connection.sql(f"select * from {name} order by all"))

    def define(self, name: str) -> None:
        """Make the view or temporary table of that query, and of those that it needs, unless they are there."""
        if name in self._defined:
            return
        sql = self._shapes[name]
        for needed in _NEEDS.findall(sql):
            if needed in self._shapes and needed != name:
                self.define(needed)
        kind = "view" if name.startswith("stg_") else "table"
        self._connection.execute(f"create or replace temp {kind} {name} as {sql}")
        self._defined.add(name)

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        self._defined.clear()
        self._connection.execute("begin")
        try:
            yield
            self._connection.execute("commit")
        except BaseException as error:
            self._connection.execute("rollback")
            if isinstance(error, duckdb.ConversionException):
                fault = str(error).splitlines()[0].removeprefix("Conversion Error: ")
                raise StoreError(f"{fault}. Nothing was loaded; mend this and load again") from None
            raise

    def _stage(self, tables: "Mapping[str, DataFrame | Path]") -> None:
        """Stand the given rows beside the store as `incoming_TABLE`, cast to its types."""
        for name in tables:
            if name not in [each.name for each in TABLES]:
                raise StoreError(f"the store has no table {name!r}; it has {', '.join(each.name for each in TABLES)}")
        for each in TABLES:
            columns = schema.columns(each)
            given = tables.get(each.name)
            source = _source(self._connection, each.name, given, columns)
            picked = ", ".join(
                f"{column}::{type_} as {column}" for column, type_ in columns.items() if column != "absent"
            )
            absent = "coalesce(absent::VARCHAR[], []) as absent"
            self._connection.execute(
                f"create or replace temp view incoming_{each.name} as select {picked}, {absent} {source}"
            )


def open_store(
    path: Path | str, *, create: bool = False, read_only: bool = False, parquet: Path | None = None
) -> Store:
    """
    The store at that path, or a fresh one in memory for ":memory:".

    While it is open its SQL can read no file but itself and those in the folder `parquet`. Raises StoreError when
    there is no store and `create` is false, when another program has it open, or when the file is no store of ours.
    """
    exists = Path(path).exists()
    if not (create or exists or path == ":memory:"):
        raise StoreError(f"no store at {path}; make one with: takehold load WORKBOOK.xlsx --store {path}")
    try:
        connection = duckdb.connect(str(path), read_only=read_only, config=_CONFIG)
    except duckdb.Error as error:
        raise StoreError(_why(path, str(error))) from None
    try:
        _lock_down(connection, parquet)
        if not exists:
            _make(connection)
        _refuse_foreign(connection, path)
    except BaseException:
        connection.close()
        raise
    return Store(connection)


def queries(folder: str) -> dict[str, str]:
    """The text of every query in a folder of `queries`, by the name of its file."""
    found = (file for file in (files("queries") / folder).iterdir() if file.name.endswith(".sql"))
    return {file.name.removesuffix(".sql"): file.read_text("utf-8") for file in sorted(found, key=lambda f: f.name)}


def run_checks(frames: "Mapping[str, DataFrame]", names: Iterable[str]) -> "dict[str, DataFrame]":
    """
    What each named query of `queries/checks` finds in the frames, which stand as tables of their names.

    The tables `code` and `field` of the dictionary stand beside them.
    """
    with duckdb.connect(config=_CONFIG) as connection:
        _lock_down(connection, None)
        _write(connection, schema.of_dictionary())
        for name, frame in frames.items():
            connection.register(name, frame)
        texts = queries("checks")
        return {name: _frame(connection.sql(texts[name])) for name in names}


def _lock_down(connection: duckdb.DuckDBPyConnection, parquet: Path | None) -> None:
    if parquet:
        connection.execute("set allowed_directories = [$folder]", {"folder": str(parquet.resolve())})
    # a column that is blank in every sampled row would be read as of no type: look at all rows
    connection.execute("set pandas_analyze_sample = 100000000")
    connection.execute("set enable_external_access = false")
    connection.execute("set lock_configuration = true")


def _make(connection: duckdb.DuckDBPyConnection) -> None:
    connection.execute("begin")
    for statement in (*queries("schema").values(), *map(schema.create_table, TABLES)):
        connection.execute(statement)
    connection.execute("insert into made_from values (?)", [schema.version()])
    connection.execute("commit")


def _refuse_foreign(connection: duckdb.DuckDBPyConnection, path: Path | str) -> None:
    try:
        found = connection.execute("select dictionary from main.made_from").fetchall()
    except duckdb.Error:
        raise StoreError(f"{path} was not made by this project; give the path of a store") from None
    if found != [(schema.version(),)]:
        raise StoreError(
            f"{path} was made from another version of the data dictionary; load the workbooks into a new store"
        )


def _why(path: Path | str, error: str) -> str:
    if "lock" in error or "different configuration" in error:
        return f"{path} is open in another program; close that and try again"
    if "not a valid DuckDB" in error:
        return f"{path} is no store; give the path of a store"
    return f"{path} cannot be opened: {error.splitlines()[0]}"


def _source(
    connection: duckdb.DuckDBPyConnection, name: str, given: "DataFrame | Path | None", columns: Mapping[str, str]
) -> str:
    """The FROM part of the rows of a table; raises StoreError unless they have exactly its columns."""
    if given is None:
        blanks = ", ".join(f"null::{type_} as {column}" for column, type_ in columns.items())
        return f"from (select {blanks} where false)"
    if isinstance(given, Path):
        source = f"from read_parquet('{str(given.resolve()).replace(chr(39), chr(39) * 2)}')"
    else:
        connection.register(f"given_{name}", given)
        source = f"from given_{name}"
    try:
        found = connection.sql(f"select * {source} limit 0").columns
    except duckdb.Error as error:
        raise StoreError(
            f"the rows of {name} cannot be read: {str(error).splitlines()[0]}; "
            "open the store with parquet=FOLDER to let it read the Parquet files there"
        ) from None
    missing, foreign = [c for c in columns if c not in found], [c for c in found if c not in columns]
    if missing or foreign:
        raise StoreError(
            f"{name}: missing columns {missing}, unknown columns {foreign}; a table has just its own columns"
        )
    return source


def _write(connection: duckdb.DuckDBPyConnection, tables: "Mapping[str, tuple[str, list[tuple[Any, ...]]]]") -> None:
    for name, (columns, rows) in tables.items():
        connection.execute(f"create or replace temp table {name} ({columns})")
        by_column = [list(values) for values in zip(*rows, strict=True)]
        connection.execute(f"insert into {name} select {', '.join(['unnest(?)'] * len(by_column))}", by_column)


def _frame(relation: duckdb.DuckDBPyRelation) -> "DataFrame":
    stable = {"INTEGER": "Int64", "BIGINT": "Int64", "HUGEINT": "Int64", "BOOLEAN": "boolean"}
    kinds = zip(relation.columns, map(str, relation.types), strict=True)
    return relation.df().astype({name: stable[kind] for name, kind in kinds if kind in stable})
