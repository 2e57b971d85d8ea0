"""The store on disk: one DuckDB file with the history of every row, brought up to date when it is opened."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Self

import duckdb

from audit import history
from audit.cases import Cases, bound
from audit.engine import Engine, connect, frame_of, stand
from audit.errors import StoreError
from audit.history import Changes
from audit.migration import backup_before, latest, migrate, number_of
from audit.protocol import Period, Protocol

if TYPE_CHECKING:
    from pandas import DataFrame


class Store:
    """
    A store that is open; `open_store` makes one. Use it as a context manager.

    `kept_as_it_was` is the copy of a store that was brought up to date as it was opened; None where it needed nothing.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, kept_as_it_was: Path | None = None) -> None:
        self._connection = connection
        self.kept_as_it_was = kept_as_it_was

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
        with self._all_or_nothing():
            stand(self._connection, tables, "incoming")
            history.refuse_faults(self._connection)
            load = history.next_load(self._connection)
            changes = history.take_in(self._connection, load)
            if not changes.is_empty:
                self._connection.execute(
                    "insert into loads values (?, ?, ?, ?, ?, ?)", [load, on, fingerprint, *changes.totals]
                )
        return changes

    def undo(self) -> Changes:
        """Take the last load back and tell what changed. Raises StoreError when there is none."""
        with self._all_or_nothing():
            return history.take_back(self._connection, history.last_load(self._connection))

    def loads(self) -> "DataFrame":
        """One row a load: load_id, loaded_on, fingerprint, rows_added, rows_changed, rows_ended."""
        return _loads(self._connection)

    def under(self, protocol: Protocol, period: Period | None = None) -> Cases:
        """The cases as they stand now under a protocol, within the period asked about: by default the protocol's."""
        view = self._connection.cursor()  # temporary tables of one view are not seen by another
        view.execute("begin")  # what is loaded afterwards is not seen either
        return bound(Engine(view), protocol, period, _loads(view))

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
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


def open_store(
    path: Path | str,
    *,
    create: bool = False,
    read_only: bool = False,
    parquet: Path | None = None,
    on: date | None = None,
) -> Store:
    """
    The store at that path, or a fresh one in memory for ":memory:".

    While it is open its SQL can read no file but itself and those in the folder `parquet`. A store of an earlier layout
    is brought up to date, and kept beside itself as it was, dated `on` (today). Raises StoreError when there is no
    store and `create` is false, when another program has it open, when it was made by a later version of this program,
    or when the file is no store of ours.
    """
    is_fresh = path == ":memory:" or not Path(path).exists()
    if is_fresh and not (create or path == ":memory:"):
        raise StoreError(f"no store at {path}; make one with: takehold load WORKBOOK.xlsx --store {path}")
    kept = None
    connection = _open(path, read_only, parquet)
    try:
        if is_fresh:
            migrate(connection, 0)
        elif (number := _known(connection, path)) < latest():
            connection.close()
            kept = _bring_up_to_date(Path(path), number, on or date.today())
            connection = _open(path, read_only, parquet)
    except BaseException:
        connection.close()
        raise
    return Store(connection, kept)


def _loads(connection: duckdb.DuckDBPyConnection) -> "DataFrame":
    return frame_of(connection.sql("select * from loads order by load_id"))


def _bring_up_to_date(path: Path, number: int, on: date) -> Path:
    connection = _open(path, read_only=False, parquet=None)
    connection.execute("checkpoint")  # else the newest rows lie in a second file, which the copy would lack
    connection.close()
    kept = backup_before(path, number, on)
    connection = _open(path, read_only=False, parquet=None)
    try:
        migrate(connection, number)
    finally:
        connection.close()
    return kept


def _known(connection: duckdb.DuckDBPyConnection, path: Path | str) -> int:
    number = number_of(connection)
    if number is None:
        raise StoreError(f"{path} was not made by this project; give the path of a store")
    if number > latest():
        raise StoreError(
            f"{path} was made by a later version of this program (layout {number}, this one reads up to {latest()}); "
            "update the program"
        )
    return number


def _open(path: Path | str, read_only: bool, parquet: Path | None) -> duckdb.DuckDBPyConnection:
    try:
        return connect(path, read_only=read_only, parquet=parquet)
    except duckdb.Error as error:
        raise StoreError(_why(path, str(error))) from None


def _why(path: Path | str, error: str) -> str:
    if "lock" in error or "different configuration" in error:
        return f"{path} is open in another program; close that and try again"
    if "not a valid DuckDB" in error:
        return f"{path} is no store; give the path of a store"
    return f"{path} cannot be opened: {error.splitlines()[0]}"
