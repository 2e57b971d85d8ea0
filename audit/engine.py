"""Runs the project's queries over tables that stand in one connection; reads every .sql file and knows of no store."""

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Self

import duckdb

from audit import schema
from audit.dictionary import TABLES
from audit.errors import StoreError
from audit.schema import Rows

if TYPE_CHECKING:
    from pandas import DataFrame


_CONFIG: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}
_FOLDERS = ("staging", "marts", "tallies", "checks")
_NEEDS = re.compile(r"\b(?:from|join)\s+(\w+)", re.IGNORECASE)


class Engine:
    """
    Tables in one connection, and the queries of the project over them, each worked out when it is first asked for.

    Rows come back as data frames of stable types, whether or not a column has blanks: whole numbers Int64, yes/no
    boolean, numbers float64, words object.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection) -> None:
        self._connection = connection
        self._defined: set[str] = set()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Forget the tables made here and let go of the connection."""
        self._connection.close()

    def put(self, tables: Rows) -> None:
        """Stand small tables, such as the terms of a protocol, beside the others."""
        for name, (columns, rows) in tables.items():
            self._connection.execute(f"create or replace temp table {name} ({columns})")
            by_column = [list(values) for values in zip(*rows, strict=True)]
            self._connection.execute(
                f"insert into {name} select {', '.join(['unnest(?)'] * len(by_column))}", by_column
            )

    def register(self, frames: "Mapping[str, DataFrame]") -> None:
        """Let each frame stand as the table of its name."""
        for name, frame in frames.items():
            self._connection.register(name, frame)

    def rows(self, name: str) -> "DataFrame":
        """
        The whole of a query by the name of its file, ordered by its columns from the left.

        Raises StoreError when there is none of that name.
        """
        self.define(name)
        return frame_of(self._connection.sql(f"select * from {name} order by all"))

    def fill(self, name: str, frame: "DataFrame") -> None:
        """
        Let the rows of the frame stand in place of those that the query would give, in columns of the query's types.

        Raises StoreError unless the frame has exactly its columns, in any order, and values of their types.
        """
        self.define(name)
        try:
            _refuse_columns(name, self._connection.table(name).columns, list(frame.columns))
            self._connection.register("given", frame)
            self._connection.execute(f"delete from {name}")
            self._connection.execute(f"insert into {name} by name select * from given")
            self._connection.unregister("given")
        except duckdb.Error as error:
            raise StoreError(f"the rows of {name} cannot be read: {str(error).splitlines()[0]}") from None

    def define(self, name: str) -> None:
        """Make the view or temporary table of that query, and of those that it needs, unless they are there."""
        if name in self._defined:
            return
        texts = _texts()
        if name not in texts:
            raise StoreError(f"there is no query {name}; there are: {', '.join(sorted(texts))}")
        for needed in _NEEDS.findall(texts[name]):
            if needed in texts and needed != name:
                self.define(needed)
        kind = "view" if name.startswith("stg_") else "table"
        self._connection.execute(f"create or replace temp {kind} {name} as {texts[name]}")
        self._defined.add(name)


def over_frames(frames: "Mapping[str, DataFrame]") -> Engine:
    """An engine over frames that are never stored, each the table of its name, and over the dictionary's tables."""
    engine = Engine(connect(":memory:"))
    engine.register(frames)
    engine.put(schema.of_dictionary())
    return engine


def connect(path: Path | str, *, read_only: bool = False, parquet: Path | None = None) -> duckdb.DuckDBPyConnection:
    """
    A connection whose SQL can read no file but that one and those in the folder `parquet`.

    Raises duckdb.Error where the file cannot be opened as a database.
    """
    connection = duckdb.connect(str(path), read_only=read_only, config=_CONFIG)
    if parquet:
        connection.execute("set allowed_directories = [$folder]", {"folder": str(parquet.resolve())})
    # a column that is blank in every sampled row would be read as of no type: look at all rows
    connection.execute("set pandas_analyze_sample = 100000000")
    connection.execute("set enable_external_access = false")
    connection.execute("set lock_configuration = true")
    return connection


def stand(connection: duckdb.DuckDBPyConnection, tables: "Mapping[str, DataFrame | Path]", prefix: str) -> None:
    """
    Stand the given rows, a data frame or a Parquet file each, as views PREFIX_TABLE, cast to the types of the store.

    A table that is not given has no rows. Raises StoreError for an unknown table or for other columns than its own.
    """
    names = [table.name for table in TABLES]
    for name in tables:
        if name not in names:
            raise StoreError(f"the store has no table {name!r}; it has {', '.join(names)}")
    for table in TABLES:
        columns = schema.columns(table)
        source = _source(connection, table.name, tables.get(table.name), columns)
        picked = ", ".join(f"{column}::{type_} as {column}" for column, type_ in columns.items() if column != "absent")
        absent = "coalesce(absent::VARCHAR[], []) as absent"
        connection.execute(f"create or replace temp view {prefix}_{table.name} as select {picked}, {absent} {source}")


def queries(folder: str) -> dict[str, str]:
    """The text of every query in a folder of `queries`, by the name of its file, in the order of the names."""
    texts = (file for file in (files("queries") / folder).iterdir() if file.name.endswith(".sql"))
    return {file.name.removesuffix(".sql"): file.read_text("utf-8") for file in sorted(texts, key=lambda f: f.name)}


def frame_of(relation: duckdb.DuckDBPyRelation) -> "DataFrame":
    """The rows as a frame whose types do not depend on the blanks."""
    stable = {"INTEGER": "Int64", "BIGINT": "Int64", "HUGEINT": "Int64", "BOOLEAN": "boolean"}
    kinds = zip(relation.columns, map(str, relation.types), strict=True)
    return relation.df().astype({name: stable[kind] for name, kind in kinds if kind in stable})


@cache
def _texts() -> dict[str, str]:
    return {name: text for folder in _FOLDERS for name, text in queries(folder).items()}


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
        present = connection.sql(f"select * {source} limit 0").columns
    except duckdb.Error as error:
        raise StoreError(
            f"the rows of {name} cannot be read: {str(error).splitlines()[0]}; "
            "open the store with parquet=FOLDER to let it read the Parquet files there"
        ) from None
    _refuse_columns(name, list(columns), present)
    return source


def _refuse_columns(name: str, columns: list[str], present: list[str]) -> None:
    missing, foreign = [c for c in columns if c not in present], [c for c in present if c not in columns]
    if missing or foreign:
        raise StoreError(
            f"{name}: missing columns {missing}, unknown columns {foreign}; a table has just its own columns"
        )
