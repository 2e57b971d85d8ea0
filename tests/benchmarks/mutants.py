"""
How many small wrong changes of the code the tests catch, by room: a score, and every change that none of them saw.

    python -m tests.benchmarks.mutants [--rooms audit/stats,audit/analyses,audit/intake] [--only audit/intake/dates.py]
        [--sample 60] [--seed 1] [--jobs 2] [--tests tests/analyses,audit] [--write FILE]

Each change meets the tests that run its function, those of a file named after its module first.
It is tried in a process of its own, forked from one that has the large libraries loaded. Changes that alter nothing
that can be seen are listed in equivalent_mutants.toml, each with its reason, and do not count.
"""

import argparse
import importlib.abc
import importlib.machinery
import importlib.util
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import tomllib
import traceback
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, ModuleType

import pytest

from tests.benchmarks.mutations import Mutant, mutants, mutated
from tests.benchmarks.touched import Test, Watcher, imports, kept, kept_at, test_files

ROOT = Path(__file__).parent.parent.parent
ROOMS = "audit/stats,audit/analyses,audit/intake"
LOADED = ("numpy", "scipy.optimize", "scipy.stats", "pandas", "statsmodels.api", "duckdb", "openpyxl")
EQUIVALENT = Path(__file__).parent / "equivalent_mutants.toml"
MEMORY = 6 * 2**30
CAUGHT, SURVIVED, HANGS, UNTESTED, BROKEN = "caught", "survived", "caught by the clock", "untested", "could not be run"


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do in a process of its own, with its seconds at most."""

    name: object
    work: Callable[[], int]
    seconds: float


def in_processes(jobs: Iterable[Job], at_once: int) -> Iterable[tuple[object, int | None]]:
    """The exit code of each job by its name as it ends, negative for a signal; None where the time was up."""
    running: dict[int, tuple[object, float]] = {}
    left = iter(jobs)
    while True:
        while len(running) < at_once and (job := next(left, None)) is not None:
            running[_forked(job.work)] = (job.name, time.monotonic() + job.seconds)
        if not running:
            return
        for pid, (name, until) in list(running.items()):
            ended, status = os.waitpid(pid, os.WNOHANG)
            late = not ended and time.monotonic() > until
            if late:
                os.killpg(pid, signal.SIGKILL)
                os.waitpid(pid, 0)
            if ended or late:
                del running[pid]
                yield name, None if late else os.waitstatus_to_exitcode(status)
        time.sleep(0.02)


def _forked(work: Callable[[], int]) -> int:
    pid = os.fork()
    if pid == 0:
        code = 99
        try:
            os.setsid()
            told = os.dup(2)
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            silent = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(silent, stream)
            code = work()
        except BaseException:
            os.write(told, traceback.format_exc().encode())
        finally:
            os._exit(code)
    return pid


class _Finder(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Imports one module with other code than its file holds."""

    def __init__(self, module: str, path: str, code: CodeType) -> None:
        super().__init__(module, path)
        self.code = code

    def find_spec(self, fullname: str, path: object = None, target: ModuleType | None = None) -> object:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self.path, loader=self)

    def get_code(self, fullname: str) -> CodeType:
        return self.code


class _Chosen:
    """A pytest plugin: these tests only, in this order, and imports through the finder."""

    def __init__(self, names: Sequence[str], finder: _Finder) -> None:
        self.places = {name: place for place, name in enumerate(names)}
        self.finder = finder

    def pytest_sessionstart(self) -> None:
        sys.meta_path.insert(0, self.finder)  # before pytest's own, which imports modules with examples by itself

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self.places), key=lambda item: self.places[item.nodeid]
        )


class _SameExamples:
    """A pytest plugin: random examples are the same each time, and none is remembered."""

    def pytest_configure(self) -> None:
        import hypothesis

        hypothesis.settings.register_profile("mutants", database=None, derandomize=True, deadline=None)
        hypothesis.settings.load_profile("mutants")


def run_tests(files: Sequence[str], *plugins: object) -> int:
    """pytest's exit code, in this process and without a memory."""
    folder = tempfile.mkdtemp()
    try:
        words = [
            "-x",
            "-q",
            "-n0",
            "-p",
            "no:cacheprovider",
            "--tb=no",
            f"--basetemp={folder}/tests",
            f"--rootdir={ROOT}",
        ]
        return int(pytest.main([*files, *words], plugins=[_SameExamples(), *plugins]))
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def learn(files: Sequence[str], at_once: int) -> list[Test]:
    """What each test touches; files that are new or changed are run once, and must pass."""
    new = [file for file in files if not kept_at(ROOT, file).exists()]
    for count, (file, code) in enumerate(in_processes((Job(f, _watching(f), 900) for f in new), at_once), start=1):
        print(f"learning {count} of {len(new)}: {file}", file=sys.stderr)
        if code not in (0, 5):
            sys.exit(f"{file} does not pass as it stands (pytest says {code}): mend that first")
    return [test for file in files for test in kept(kept_at(ROOT, file))]


def _watching(file: str) -> Callable[[], int]:
    def work() -> int:
        watcher = Watcher(ROOT)
        code = run_tests([file], watcher)
        if code in (0, 5):
            watcher.write(kept_at(ROOT, file))
        return code

    return work


def tests_of(mutant: Mutant, tests: Sequence[Test], budget: float) -> list[Test]:
    """
    The tests that run the mutant's function, or else its module.

    Those of a file named after the module come first, then of files that import it, then of its room; quick ones first.
    """
    name = f"{mutant.file}::{mutant.function}"
    meeting = [test for test in tests if mutant.function and name in test.touches]
    if not meeting:
        meeting = [test for test in tests if any(touch.startswith(f"{mutant.file}::") for touch in test.touches)]
    stem, room = Path(mutant.file).stem, Path(mutant.file).parent.name

    def far(test: Test) -> tuple[bool, bool, bool, float]:
        file = Path(test.file)
        return stem not in file.stem, mutant.file not in imports(ROOT, test.file), room != file.parent.name, test.alone

    chosen: list[Test] = []
    for test in sorted(meeting, key=far):
        if chosen and seconds_of([*chosen, test]) > budget:
            break
        chosen.append(test)
    return chosen


def seconds_of(tests: Sequence[Test]) -> float:
    """Seconds of the tests one after the other, what they share once."""
    shared = {name: seconds for test in tests for name, seconds in test.shared.items()}
    return sum(test.seconds for test in tests) + sum(shared.values())


def trial(mutant: Mutant, tests: Sequence[Test]) -> Job:
    """The run of the tests against one mutant."""

    def work() -> int:
        module = mutant.file.removesuffix(".py").replace("/", ".")
        finder = _Finder(module, str(ROOT / mutant.file), mutated(ROOT, mutant))
        files = list(dict.fromkeys(test.file for test in tests))
        return run_tests(files, _Chosen([test.name for test in tests], finder))

    return Job(mutant, work, 20 + 5 * seconds_of(tests))


def verdict(code: int | None) -> str:
    """What an exit code of pytest, a signal, or the end of the time say of a mutant."""
    if code is None:
        return HANGS
    if code in (1, 2) or code < 0:
        return CAUGHT
    return {0: SURVIVED, 5: UNTESTED}.get(code, BROKEN)


def without_effect() -> list[dict[str, str]]:
    """The changes that nobody could see: `file` and `reason`, and any of `source`, `operator`, `function`, `before`."""
    listed: list[dict[str, str]] = tomllib.loads(EQUIVALENT.read_text("utf-8")).get("equivalent", [])
    return listed


def is_without_effect(mutant: Mutant, listed: Sequence[dict[str, str]]) -> bool:
    """Whether the mutant is one of these."""
    return any(
        all(getattr(mutant, key) == value for key, value in entry.items() if key != "reason") for entry in listed
    )


def main() -> None:
    """Learn what the tests touch, try the mutants, and print the scores and the survivors."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--rooms", default=ROOMS)
    words.add_argument("--only", help="one file, or several with commas between them")
    words.add_argument("--sample", type=int, help="mutants a room; without it, all of them")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--jobs", type=int, default=2)
    words.add_argument("--budget", type=float, default=60, help="seconds of tests that a mutant meets at most")
    words.add_argument("--tests", default="", help="only tests under these paths: quicker, and a score too low")
    words.add_argument("--write", type=Path, help="the survivors and scores as text")
    given = words.parse_args()
    rooms = given.only.split(",") if given.only else given.rooms.split(",")

    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ[name] = "1"
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    for library in LOADED:
        importlib.import_module(library)
    with tempfile.TemporaryDirectory() as built:
        os.environ["TAKEHOLD_BUILT"] = built
        asked = tuple(given.tests.split(","))
        tests = learn([name for name in test_files(ROOT, rooms) if name.startswith(asked)], given.jobs)
        said = [line for room in rooms for line in _of_room(room, tests, given)]
    if given.write:
        given.write.write_text("\n".join(said) + "\n", "utf-8")


def _of_room(room: str, tests: Sequence[Test], given: argparse.Namespace) -> list[str]:
    files = [ROOT / room] if room.endswith(".py") else sorted((ROOT / room).rglob("*.py"))
    listed = without_effect()
    every = [m for path in files for m in mutants(ROOT, path.relative_to(ROOT).as_posix())]
    counted = [mutant for mutant in every if not is_without_effect(mutant, listed)]
    if given.sample and given.sample < len(counted):
        counted = sorted(random.Random(given.seed).sample(counted, given.sample), key=lambda m: (m.file, m.number))
    chosen = {mutant: tests_of(mutant, tests, given.budget) for mutant in counted}
    fates = {mutant: UNTESTED for mutant in counted if not chosen[mutant]}
    jobs = [trial(mutant, chosen[mutant]) for mutant in counted if chosen[mutant]]
    for mutant, code in in_processes(jobs, given.jobs):
        fates[mutant] = verdict(code)
        print(
            ".x?"[0 if fates[mutant] in (CAUGHT, HANGS) else 1 if fates[mutant] == SURVIVED else 2], end="", flush=True
        )
    caught = sum(fate in (CAUGHT, HANGS) for fate in fates.values())
    lines = [f"{room}: {caught} of {len(counted)} caught ({caught / max(1, len(counted)):.0%})"]
    lines += [
        f"  {mutant} ({fate})" for mutant, fate in sorted(fates.items(), key=_place) if fate not in (CAUGHT, HANGS)
    ]
    print("", *lines, sep="\n")
    return lines


def _place(pair: tuple[Mutant, str]) -> tuple[str, int]:
    return pair[0].file, pair[0].line


if __name__ == "__main__":
    main()
