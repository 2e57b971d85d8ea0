"""
Time the load and the queries of a pooled register: python -m tests.benchmarks.load_register --reconstructions 1000000

The load is compared, in the same run, with an unchecked load of the same Parquet files into typed DuckDB tables.
"""

import argparse
import tempfile
import time
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from statistics import median

import duckdb

from audit import dictionary, schema
from audit.protocol import read_protocol
from audit.store import Store, open_store, queries
from synthetic_data.register import write_register


def seconds(call: Callable[[], object]) -> float:
    """Wall-clock seconds of one call."""
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def unchecked_load(paths: Mapping[str, Path], path: Path) -> None:
    """The same rows into tables of the same types: no condition, no key, no history."""
    with duckdb.connect(path) as connection:
        for table in dictionary.TABLES:
            types = schema.columns(table)
            connection.execute(f"create table {table.name} ({', '.join(f'{c} {t}' for c, t in types.items())})")
            connection.execute(
                f"insert into {table.name} select {', '.join(types)} from read_parquet(?)", [str(paths[table.name])]
            )


def checked_load(paths: Mapping[str, Path], path: Path) -> None:
    """The load of the store, closing included."""
    with open_store(path, create=True, parquet=path.parent) as store:
        store.load(paths, fingerprint="benchmark", on=date(2026, 1, 1))


def query_times(store: Store) -> None:
    """Print the seconds that each mart and tally takes once those that it needs are there."""
    store.bind(read_protocol())
    for folder in ("marts", "tallies"):
        for name in queries(folder):
            taken = seconds(lambda name=name: store.define(name))
            print(f"  {name:<20} {taken:7.2f} s")


def main() -> None:
    """Make a register, load it both ways in turn, then run every query."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reconstructions", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        paths = write_register(here, reconstructions=arguments.reconstructions)
        rows = {name: len(duckdb.read_parquet(str(path))) for name, path in paths.items()}
        print("register of", ", ".join(f"{n:,} {name}" for name, n in rows.items()))
        plain, full = [], []
        for turn in range(arguments.rounds):
            plain.append(seconds(lambda turn=turn: unchecked_load(paths, here / f"plain{turn}.duckdb")))
            full.append(seconds(lambda turn=turn: checked_load(paths, here / f"full{turn}.duckdb")))
            (here / f"plain{turn}.duckdb").unlink()
            if turn:
                (here / f"full{turn}.duckdb").unlink()
        print(f"unchecked load {median(plain):.2f} s, checked load {median(full):.2f} s, "
              f"ratio {median(f / p for f, p in zip(full, plain, strict=True)):.2f}")  # fmt: skip
        with open_store(here / "full0.duckdb", parquet=here) as store:
            same = seconds(lambda: store.load(paths, fingerprint="benchmark", on=date(2026, 1, 1)))
            print(f"the same file again {same:.2f} s")
            query_times(store)


if __name__ == "__main__":
    main()
