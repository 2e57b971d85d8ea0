"""
Time the load and the queries of a pooled register: python -m tests.benchmarks.load_register --reconstructions 1000000

The load is compared, in the same run, with an unchecked load of the same Parquet files into typed DuckDB tables.
Processor seconds of all threads stand beside wall seconds, for a machine that is busy with something else.
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
from audit.cases import Cases
from audit.engine import queries
from audit.protocol import read_protocol
from audit.store import open_store
from tests.benchmarks.register import write_register

Seconds = tuple[float, float]


def timed(call: Callable[[], object]) -> Seconds:
    """Wall and processor seconds of one call."""
    wall, processor = time.perf_counter(), time.process_time()
    call()
    return time.perf_counter() - wall, time.process_time() - processor


def shown(seconds: Seconds) -> str:
    """Both times in words."""
    return f"{seconds[0]:8.2f} s wall {seconds[1]:8.2f} s processor"


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


def compare_loads(paths: Mapping[str, Path], folder: Path, rounds: int) -> None:
    """Load both ways in turn; leaves the last store as register.duckdb."""
    plain, full = [], []
    for _ in range(rounds):
        for made in ("plain.duckdb", "register.duckdb"):
            (folder / made).unlink(missing_ok=True)
        plain.append(timed(lambda: unchecked_load(paths, folder / "plain.duckdb")))
        full.append(timed(lambda: checked_load(paths, folder / "register.duckdb")))
    print("unchecked load    ", shown(median(plain)))
    print("checked load      ", shown(median(full)))
    ratios = [[f[kind] / p[kind] for f, p in zip(full, plain, strict=True)] for kind in (0, 1)]
    print(f"ratio of the two   {median(ratios[0]):8.2f}   wall {median(ratios[1]):8.2f}   processor")


def time_queries(cases: Cases) -> None:
    """Print the time of each mart and tally once those that it needs are there."""
    for folder in ("marts", "tallies"):
        for name in queries(folder):
            print(f"{name:<19}", shown(timed(lambda name=name: cases._engine.define(name))))


def main() -> None:
    """Make a register, load it both ways, load it again, then run every query."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--reconstructions", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = write_register(folder, reconstructions=arguments.reconstructions)
        rows = {name: len(duckdb.read_parquet(str(path))) for name, path in paths.items()}
        print("register of", ", ".join(f"{n:,} {name}" for name, n in rows.items()))
        compare_loads(paths, folder, arguments.rounds)
        with open_store(folder / "register.duckdb", parquet=folder) as store:
            again = timed(lambda: store.load(paths, fingerprint="benchmark", on=date(2026, 1, 1)))
            print("the same once more", shown(again))
            time_queries(store.under(read_protocol()))


if __name__ == "__main__":
    main()
