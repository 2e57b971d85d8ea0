"""The cases of a store under one protocol: the one thing that an analysis is given."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from audit import schema
from audit.dictionary import TABLES
from audit.engine import Engine, connect, queries, stand
from audit.errors import StoreError
from audit.protocol import Period, Protocol

if TYPE_CHECKING:
    from pathlib import Path

    from pandas import DataFrame


@dataclass(frozen=True, slots=True, eq=False)
class Cases:
    """
    The rows as they stood when the view was made, under one protocol and one period; `Store.under` makes one.

    Nothing that happens to the store afterwards changes it, and several stand side by side: two periods, two
    thresholds. `loads` has a row a load of the store (load_id, loaded_on, fingerprint, rows_added, rows_changed,
    rows_ended), none where the rows were never stored. Use it as a context manager, or close it.
    """

    protocol: Protocol
    period: Period
    loads: "DataFrame"
    _engine: Engine

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the rows go."""
        self._engine.close()

    def rows(self, name: str) -> "DataFrame":
        """
        The whole of a staging view, mart or tally by the name of its file, ordered by its columns from the left.

        Raises StoreError when there is none of that name.
        """
        return self._engine.rows(name)


def bound(engine: Engine, protocol: Protocol, period: Period | None, loads: "DataFrame") -> Cases:
    """The cases of the tables that stand in the engine; the protocol's own period where none is asked about."""
    asked = period or protocol.period
    engine.put(schema.of_protocol(protocol, asked) | schema.of_dictionary())
    return Cases(protocol, asked, loads, engine)


def never_stored(tables: "Mapping[str, DataFrame | Path]", protocol: Protocol, period: Period | None = None) -> Cases:
    """
    The cases of a file's tables that were checked and are not stored, such as for a list of those due.

    Raises StoreError as `Store.load` does for tables of other columns.
    """
    return bound(_over(tables), protocol, period, _no_loads())


def from_tallies(
    tallies: "Mapping[str, DataFrame]",
    protocol: Protocol,
    period: Period | None = None,
    loads: "DataFrame | None" = None,
) -> Cases:
    """
    The cases of tallies that were counted elsewhere, such as the pooled tallies of several practices.

    `tallies` has a frame for every query in `queries/tallies`, with its columns, counted under the same protocol and
    period; alike cases may stand in one row or in several. `case_codes` may be empty lists. In a tally, no two animals
    may have the same number. There are no rows behind them: every staging view and mart is empty.
    Raises StoreError for a missing or unknown tally, for other columns than its own and for values of other types.
    """
    names = sorted(queries("tallies"))
    missing, unknown = sorted(set(names) - set(tallies)), sorted(set(tallies) - set(names))
    if missing or unknown:
        raise StoreError(f"missing tallies {missing}, unknown tallies {unknown}; give one of each: {', '.join(names)}")
    cases = bound(_over({}), protocol, period, _no_loads() if loads is None else loads)
    for name in names:
        cases._engine.fill(name, tallies[name])
    return cases


def _over(tables: "Mapping[str, DataFrame | Path]") -> Engine:
    """An engine over tables that are never stored, none of them ended."""
    connection = connect(":memory:")
    stand(connection, tables, "incoming")
    for table in TABLES:
        connection.execute(
            f"create temp view {table.name} as select *, 1 as load_id, null::integer as ended_by "
            f"from incoming_{table.name}"
        )
    return Engine(connection)


def _no_loads() -> "DataFrame":
    import pandas as pd

    return pd.DataFrame(columns=["load_id", "loaded_on", "fingerprint", "rows_added", "rows_changed", "rows_ended"])
