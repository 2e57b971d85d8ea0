"""
Which test runs which function, learned once and kept in `.pytest_cache/touched`; a file is asked anew once it changed.

A test touches what its fixtures touch, also those that were made for an earlier test of its file.
"""

import ast
import hashlib
import json
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from time import perf_counter
from types import FrameType

import pytest

PRODUCT = ("audit", "queries", "reports", "synthetic_data")
# Whole pages in a browser, wheels, and commands in other processes: nothing of a change shows there first.
TOO_LARGE = ("test_page.py", "test_architecture.py", "test_readme.py", "test_write_up.py", "test_cli.py")


@dataclass(frozen=True, slots=True)
class Test:
    """
    A test by its pytest name, with the functions that it runs ("audit/store.py::Store.load").

    `seconds` are its own; `shared` are those of each fixture that it shares with other tests.
    """

    name: str
    seconds: float
    shared: Mapping[str, float]
    touches: frozenset[str]

    @property
    def file(self) -> str:
        """The file it stands in."""
        return self.name.split("::")[0]

    @property
    def alone(self) -> float:
        """Seconds of the test where it is the only one to run."""
        return self.seconds + sum(self.shared.values())


def test_files(root: Path, rooms: Iterable[str]) -> list[str]:
    """Test files, and modules with examples, that reach a room by their imports."""
    rooms = tuple(rooms)
    paths = [path for path in sorted((root / "tests").rglob("test_*.py")) if path.name not in TOO_LARGE]
    for room in rooms:
        paths += [path for path in sorted((root / room).rglob("*.py")) if ">>> " in path.read_text("utf-8")]
    names = (path.relative_to(root).as_posix() for path in paths)
    return [name for name in names if any(reached.startswith(rooms) for reached in reach(root, name))]


@cache
def reach(root: Path, file: str) -> frozenset[str]:
    """The files of ours that a file imports, itself among them, wherever the import stands."""
    found, left = {file}, [file]
    while left:
        for name in imports(root, left.pop()):
            if name not in found:
                found.add(name)
                left.append(name)
    return frozenset(found)


@cache
def imports(root: Path, file: str) -> tuple[str, ...]:
    """The files of ours that a file imports itself."""
    names: set[str] = set()
    for node in ast.walk(ast.parse((root / file).read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    beside = Path(file).parent  # a test imports its neighbours by their bare name
    paths = [path for name in names for path in (Path(f"{name.replace('.', '/')}.py"), beside / f"{name}.py")]
    return tuple(path.as_posix() for path in paths if (root / path).exists())


def kept_at(root: Path, file: str) -> Path:
    """Where the map of one test file is kept: another place once the file or something that it imports has changed."""
    digest = hashlib.sha256()
    for name in sorted({*reach(root, file), "tests/conftest.py"}):
        digest.update((root / name).read_bytes())
    return root / ".pytest_cache" / "touched" / f"{file.replace('/', '.')}-{digest.hexdigest()[:16]}.json"


def kept(path: Path) -> list[Test]:
    """The tests that were written there."""
    return [Test(name, own, shared, frozenset(all)) for name, own, shared, all in json.loads(path.read_text("utf-8"))]


class Watcher:
    """A pytest plugin that writes down what each test touches."""

    def __init__(self, root: Path) -> None:
        self.start = f"{root}/"
        self.open: list[set[str]] = []
        self.fixtures: dict[object, set[str]] = defaultdict(set)
        self.took: dict[object, float] = defaultdict(float)
        self.setting_up = 0.0
        self.tests: list[tuple[str, float, dict[str, float], list[str]]] = []

    def _called(self, frame: FrameType, event: str, arg: object) -> None:
        code = frame.f_code
        if code.co_filename.startswith(self.start):
            file = code.co_filename[len(self.start) :]
            if file.startswith(PRODUCT):
                name = f"{file}::{code.co_qualname.replace('.<locals>', '')}"
                for touched in self.open:
                    touched.add(name)

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: pytest.FixtureDef) -> Iterator[None]:
        self.open.append(self.fixtures[fixturedef])
        start = perf_counter()
        try:
            return (yield)
        finally:
            self.open.pop()
            if fixturedef.scope != "function":
                self.took[fixturedef] += perf_counter() - start
                self.setting_up += perf_counter() - start

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        touched: set[str] = set()
        self.open.append(touched)
        start, self.setting_up = perf_counter(), 0.0
        sys.settrace(self._called)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            self.open.remove(touched)
            own = max(0.0, perf_counter() - start - self.setting_up)
            info = getattr(item, "_fixtureinfo", None)
            used = [one for several in (info.name2fixturedefs.values() if info else ()) for one in several]
            shared = {f"{one.baseid}::{one.argname}": self.took[one] for one in used if one in self.took}
            self.tests.append((item.nodeid, own, shared, sorted(touched.union(*(self.fixtures[one] for one in used)))))

    def write(self, path: Path) -> None:
        """Keep what was seen."""
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(self.tests), "utf-8")
