"""
What many tests read and none changes, made once for all processes of a run: the invented practice from workbook to
report, and the commands of the README in their order.
"""

import os
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from filelock import FileLock

# The longest first: a process that begins one of these last would let the other wait.
LONGEST = ("test_planted_truth", "test_cli", "test_write_up", "test_edge_cases", "test_journal_figures", "test_page")


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """One process where only some files are asked for, as starting more takes longer than most files do."""
    return None if config.args_source is config.ArgsSource.TESTPATHS else 0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take longest come first, the others as they stand."""
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(LONGEST)))


@pytest.fixture(scope="session")
def built_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, Callable[[Path], object]], Path]:
    """A folder of that name, filled by the first process that asks for it; to be read only. Mutants share them too."""
    base = tmp_path_factory.getbasetemp()
    base = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    base = Path(os.environ.get("TAKEHOLD_BUILT", base))

    def built(name: str, build: Callable[[Path], object]) -> Path:
        folder, draft = base / name, base / f"{name}-draft"
        with FileLock(base / f"{name}.lock"):
            if not folder.exists():
                shutil.rmtree(draft, ignore_errors=True)
                draft.mkdir()
                build(draft)
                draft.rename(folder)
        return folder

    return built


@pytest.fixture(scope="session")
def demo_folder(built_once) -> Path:
    from reports.demo import run_demo

    return built_once("invented-practice", lambda folder: run_demo(folder, on=date(2026, 1, 15)))


@pytest.fixture(scope="session")
def demo_workbook(demo_folder) -> Path:
    return demo_folder / "practice.xlsx"


@pytest.fixture(scope="session")
def demo_page(demo_folder) -> Path:
    return demo_folder / "report" / "report.html"


@pytest.fixture(scope="session")
def demo_evidence(demo_folder):
    """What the manuscript of the invented practice is written from, its audit among it; once a process."""
    from audit.protocol import read_protocol
    from audit.store import open_store
    from reports.write_up.evidence import evidence

    with open_store(demo_folder / "practice.duckdb", read_only=True) as store:
        return evidence(store.under(read_protocol(demo_folder / "protocol.frozen.toml")))


@pytest.fixture(scope="session")
def readme_folder(built_once) -> Path:
    """A folder in which the README's commands were typed, with twelve hand-made cases; loaded again after `undo`."""
    from tests.readme_commands import type_them

    return built_once("readme", type_them)
