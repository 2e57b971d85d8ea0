"""
Measure how often every interval holds the truth, and how often every test rejects where there is no difference:

    python -m tests.benchmarks.coverage --runs 1000 --write audit/METHODS.md

Each line is printed as it is done. With --keep FILE finished lines are kept there, and a second start goes on from
them. The same seed and runs give the same table.
"""

import argparse
import json
from collections import defaultdict
from math import sqrt
from pathlib import Path
from zlib import crc32

import numpy as np

from audit.errors import AuditError
from tests.benchmarks.coverage_measures import OUTCOMES, Measure
from tests.benchmarks.coverage_models import MODELS
from tests.benchmarks.coverage_practice import Setting
from tests.benchmarks.coverage_raters import RATERS
from tests.benchmarks.methods_page import between

BEGIN, END = "<!-- measured coverage: begin -->", "<!-- measured coverage: end -->"
MEASURES = (*OUTCOMES, *RATERS, *MODELS)
SIZES = (8, 20, 40, 200)
COLUMNS = ("quantity", "visits", "correlation", *(f"{n} animals" for n in SIZES), "runs")
Line = dict[str, float]


def measured(measure: Measure, setting: Setting, runs: int, seed: int) -> tuple[Line, int]:
    """Share of the runs that held (or rejected), by quantity, none if most were refused; and how many were refused."""
    key = [seed, crc32(repr((measure.run.__name__, setting)).encode())]
    by_quantity: dict[str, list[float]] = defaultdict(list)
    refused = 0
    for run in range(runs):
        try:
            hits = measure.run(np.random.default_rng([*key, run]), setting)
        except AuditError:
            refused += 1
            continue
        for quantity, hit in hits.items():
            by_quantity[quantity].append(float(hit))
    if refused > runs / 2:
        return {}, refused
    return {quantity: float(np.mean(values)) for quantity, values in by_quantity.items()}, refused


def measure_all(runs: int, seed: int, keep: Path | None, only: str) -> dict[tuple[str, str, float], dict[int, float]]:
    """Every line of the table: (quantity, visits, correlation) to the share by number of animals."""
    kept = [json.loads(line) for line in keep.read_text("utf-8").splitlines()] if keep and keep.exists() else []
    done = {line["key"]: line for line in kept}
    table: dict[tuple[str, str, float], dict[int, float]] = defaultdict(dict)
    for measure in MEASURES:
        if only and measure.run.__name__ not in only.split(","):
            continue
        used = max(1, round(runs * measure.portion))
        for setting in measure.settings:
            key = f"{measure.run.__name__} {setting} {used} {seed}"
            if key not in done:
                shares, refused = measured(measure, setting, used, seed)
                done[key] = {"key": key, "shares": shares, "refused": refused}
                if keep:
                    with keep.open("a", encoding="utf-8") as file:
                        file.write(json.dumps(done[key]) + "\n")
                print(
                    setting, {name: round(share, 3) for name, share in shares.items()}, f"refused {refused}", flush=True
                )
            for quantity, share in done[key]["shares"].items():
                table[quantity, setting.schedule, setting.correlation, used][setting.animals] = share
    return table


def written(table: dict, runs: int, seed: int) -> str:
    """The table in Markdown, intervals first, then tests."""
    error = sqrt(0.95 * 0.05 / runs)
    lines = [
        f"Seed {seed}, {runs} practices a cell unless the last column says otherwise; Monte Carlo standard error of a",
        f"coverage of 0.95: {error:.3f}, of a rejection rate of 0.05 likewise. Levels are 0.95 and 0.05.",
    ]
    for title, is_test in (("Share of intervals that held the truth", False), ("Share of tests that rejected", True)):
        lines += ["", f"**{title}**", "", "| " + " | ".join(COLUMNS) + " |", "|---" * 3 + "|--:" * 5 + "|"]
        for (quantity, visits, correlation, used), by_size in table.items():
            if quantity.startswith("test: ") == is_test:
                cells = [f"{by_size[n]:.3f}" if n in by_size else "" for n in SIZES]
                name = quantity.removeprefix("test: ")
                lines.append("| " + " | ".join([name, visits, f"{correlation:g}", *cells, str(used)]) + " |")
    return "\n".join(lines)


def main() -> None:
    """Measure, print, and put the table between its marks in a page."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=1000, help="practices for each cell of the table")
    parser.add_argument("--quick", action="store_true", help="50 runs: to see that all works")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--only", default="", help="names of measures, parted by commas")
    parser.add_argument("--keep", type=Path, help="file of finished lines, to go on from")
    parser.add_argument("--write", type=Path, help="page with the marks between which the table goes")
    arguments = parser.parse_args()
    runs = 50 if arguments.quick else arguments.runs
    text = written(measure_all(runs, arguments.seed, arguments.keep, arguments.only), runs, arguments.seed)
    print(text)
    if arguments.write:
        arguments.write.write_text(between(arguments.write.read_text("utf-8"), BEGIN, END, text), "utf-8")


if __name__ == "__main__":
    main()
