"""
Race our functions against lifelines and R (where Rscript is installed), in turn, in one process:

    python -m tests.benchmarks.speed [--rounds 5] [--largest 1000000] [--only npmle aft]

Times are medians over the rounds; ratios are medians of the ratios within a round, so that a busy machine matters less.
A peer that would take minutes is left out and said so. All data are invented, from a fixed seed.
"""

import argparse
import gc
import os
import shutil
import subprocess
import tempfile
import time
import warnings
from collections.abc import Callable, Mapping
from pathlib import Path
from statistics import median

import numpy as np
import pandas as pd
from lifelines import KaplanMeierFitter, WeibullAFTFitter
from numpy.typing import NDArray

from audit.stats.aft import aft
from audit.stats.npmle import npmle
from audit.stats.percent import percent_take
from audit.stats.restricted_mean import restricted_mean

SEED = 5
OURS = "ours"
Racers = Mapping[str, Callable[[], object]]


def race(title: str, racers: Racers, targets: str, rounds: int) -> None:
    """One line a racer: median time, and how many times ours."""
    times: dict[str, list[float]] = {name: [] for name in racers}
    for call in racers.values():
        call()
    gc.collect()
    gc.disable()
    for _ in range(rounds):
        for name, call in racers.items():
            start = time.perf_counter()
            call()
            times[name].append(time.perf_counter() - start)
    gc.enable()
    print(f"\n{title}" + (f"   [target: {targets}]" if targets else ""))
    for name, seconds in times.items():
        ratio = median(other / ours for other, ours in zip(seconds, times[OURS], strict=True))
        print(f"  {name:<32}{1e3 * median(seconds):12.2f} ms   x{ratio:.2f}", flush=True)


def visited_days(n: int, *, whole: bool) -> tuple[NDArray, NDArray]:
    """Last day seen open and first day seen healed, at visits 2 to 9 days apart."""
    rng = np.random.default_rng([SEED, n, whole, 1])
    heals = 26 * np.exp(0.45 * rng.standard_normal(n))
    gaps = rng.integers(2, 10, (n, 60)) if whole else rng.uniform(2, 9, (n, 60))
    visits = np.cumsum(gaps, axis=1)
    last = np.minimum(rng.exponential(150, n), 120)[:, None]
    looked = visits <= last
    left = np.where(looked & (visits < heals[:, None]), visits, 0).max(axis=1).astype(float)
    right = np.where(looked & (visits >= heals[:, None]), visits, np.inf).min(axis=1)
    return left, right


def npmle_race(n: int, rounds: int, *, whole: bool) -> None:
    """Rows 10, 11 and 12; lifelines closes its intervals, so left ends are moved up for it."""
    left, right = visited_days(n, whole=whole)
    racers: dict[str, Callable[[], object]] = {OURS: lambda: npmle(left, right)}
    if n <= (10_000 if whole else 1_000):
        lower = np.where(left > 0, np.nextafter(left, np.inf), 0)
        racers["lifelines"] = lambda: KaplanMeierFitter().fit_interval_censoring(lower, right)
    targets = {
        (10_000, True): "at most 5 ms; lifelines x100, npsurv x20 or more",
        (10_000, False): "at most 40 ms; npsurv x500, lifelines x2500 or more",
        (100_000, False): "at most 400 ms",
        (1_000_000, False): "at most 5,000 ms",
    }
    left_out = "" if len(racers) > 1 else "; lifelines left out: minutes"
    race(f"Interval-censored curve, {n:,} cases, {_kind(whole)}{left_out}", racers, targets.get((n, whole), ""), rounds)
    fit = npmle(left, right)
    print(f"  certificate: gap {fit.kkt_gap / n:.1e} a case after {fit.iterations} rounds [target: 1e-8 or less]")


def aft_race(n: int, rounds: int) -> None:
    """Row 15: three covariates, standard errors included."""
    rng = np.random.default_rng([SEED, n, 2])
    x = np.column_stack([rng.standard_normal(n), rng.random(n) < 0.4, rng.random(n) < 0.3]).astype(float)
    left, right = visited_days(n, whole=True)
    names = ["size", "distal", "cat"]
    racers: dict[str, Callable[[], object]] = {OURS: lambda: aft(left, right, x, names)}
    if n <= 100_000:
        frame = pd.DataFrame(x, columns=names).assign(left=np.maximum(left, 1e-8), right=right)
        racers["lifelines"] = lambda: WeibullAFTFitter().fit_interval_censoring(frame, "left", "right")
    targets = {1_000: "lifelines x60, survreg x2 or more", 100_000: "lifelines x15, survreg x6 or more"}
    race(f"Weibull time ratios, {n:,} cases", racers, targets.get(n, "lifelines left out: minutes"), rounds)


def bootstrap_race(rounds: int) -> None:
    """Rows 16 and 18: 200 animals, 2,000 draws."""
    rng = np.random.default_rng([SEED, 4])
    animal = np.repeat(np.arange(200), rng.integers(1, 8, 200))
    take = np.round(100 * rng.beta(5, 1, len(animal)))
    by_animal = [take[animal == who] for who in range(200)]

    def one_by_one() -> list[float]:
        return [np.concatenate([by_animal[i] for i in rng.integers(0, 200, 200)]).mean() for _ in range(2000)]

    racers = {OURS: lambda: percent_take(take, animal=animal, rng=rng), "numpy, one draw at a time": one_by_one}
    race("Mean percent take, 200 animals, 2,000 draws", racers, "at most 10 ms; the loop x15 or more", rounds)
    left, right = visited_days(len(animal), whole=True)
    lower = np.where(left > 0, np.nextafter(left, np.inf), 0)

    def lifelines_20() -> None:
        for _ in range(5):
            drawn = np.concatenate([np.flatnonzero(animal == i) for i in rng.integers(0, 200, 200)])
            KaplanMeierFitter().fit_interval_censoring(lower[drawn], right[drawn])

    racers = {
        OURS: lambda: restricted_mean(left, right, 60, rng, animal=animal),
        "lifelines, 5 draws (x400)": lifelines_20,
    }
    race(
        "Restricted mean, 200 animals, 2,000 draws", racers, "at most 3,000 ms; lifelines x0.15 or more", min(rounds, 3)
    )


def distinct_rows(rounds: int) -> None:
    """The same distinct rows stand for ever more cases: the cost must not grow."""
    print("\nCost against cases, the same distinct rows tallied")
    left, right = visited_days(20_000, whole=True)
    rows, counts = np.unique(np.column_stack([left, right]), axis=0, return_counts=True)
    for cases in (10**3, 10**4, 10**5, 10**6, 10**7):
        weight = np.maximum(np.round(counts * cases / counts.sum()), 1)
        seconds = []
        for _ in range(rounds):
            start = time.perf_counter()
            npmle(rows[:, 0], rows[:, 1], weight)
            seconds.append(time.perf_counter() - start)
        print(
            f"  interval-censored curve {cases:>12,} cases, {len(rows)} rows{1e3 * median(seconds):10.2f} ms",
            flush=True,
        )


def in_r(n: int, rounds: int) -> None:
    """The peers in R, timed around the fit alone, data already loaded."""
    if shutil.which("Rscript") is None:
        print("\nR: no Rscript here, so survreg and npsurv are left out")
        return
    left, right = visited_days(n, whole=True)
    script = """
    a <- commandArgs(TRUE); d <- read.csv(a[1]); d$right[is.infinite(d$right)] <- Inf; k <- as.integer(a[2])
    timed <- function(name, f) {
      seconds <- median(replicate(k, system.time(f())[3]))
      cat(sprintf("  R %-30s%12.2f ms\\n", name, 1e3 * seconds)) }
    if (requireNamespace("survival", quietly = TRUE)) { library(survival)
      e <- transform(d, left = ifelse(left == 0, NA, left), right = ifelse(is.finite(right), right, NA))
      timed("survreg, no covariates", function() survreg(Surv(left, right, type = "interval2") ~ 1, e)) }
    if (requireNamespace("npsurv", quietly = TRUE)) {
      ends <- as.matrix(d[, c("left", "right")]); timed("npsurv", function() npsurv::npsurv(ends)) }
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "days.csv"
        pd.DataFrame({"left": left, "right": right}).to_csv(path, index=False)
        print(f"\nR, {n:,} cases, whole days")
        print(subprocess.run(["Rscript", "-e", script, str(path), str(rounds)], capture_output=True, text=True).stdout)


def _kind(whole: bool) -> str:
    return "whole days" if whole else "continuous"


def main() -> None:
    """All races, the small ones first."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--largest", type=int, default=1_000_000)
    races = ("npmle", "aft", "bootstrap", "tallied", "r")
    parser.add_argument("--only", nargs="+", choices=races, default=races)
    arguments = parser.parse_args()
    warnings.simplefilter("ignore")
    rounds = arguments.rounds
    print(f"{os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}, {rounds} rounds; x: times of ours")
    sizes = [n for n in (1_000, 10_000, 100_000, 1_000_000) if n <= arguments.largest]
    for whole in (True, False):
        for n in sizes if "npmle" in arguments.only else ():
            npmle_race(n, rounds, whole=whole)
    if "aft" in arguments.only:
        for n in sizes:
            aft_race(n, rounds)
    if "bootstrap" in arguments.only:
        bootstrap_race(rounds)
    if "tallied" in arguments.only:
        distinct_rows(rounds)
    if "r" in arguments.only:
        in_r(10_000, rounds)


if __name__ == "__main__":
    main()
