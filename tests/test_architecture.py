"""Imports run one way; only the store opens DuckDB; the wheel carries what the program reads."""

import ast
import subprocess
import sys
import zipfile
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.version import Version

ROOT = Path(__file__).parent.parent
PACKAGES = ("audit", "queries", "reports", "synthetic_data")
ALLOWED = {"audit": {"audit", "queries"}, "queries": set(), "synthetic_data": {"audit"}, "reports": {"audit"}}
REACH_EVERYTHING = {"reports/cli.py", "reports/demo.py"}


def modules() -> list[Path]:
    return [path for package in PACKAGES for path in (ROOT / package).rglob("*.py")]


def imported(path: Path) -> set[str]:
    """Full names of all modules that the file imports, wherever the import stands."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_one_way(path):
    name = path.relative_to(ROOT).as_posix()
    package = name.split("/")[0]
    ours = {module.split(".")[0] for module in imported(path)} & set(PACKAGES)
    allowed = set(PACKAGES) if name in REACH_EVERYTHING else ALLOWED[package] | {package}
    assert ours <= allowed
    assert package == "reports" or "reports.cli" not in imported(path)


def test_only_the_engine_opens_duckdb():
    openers = {path.relative_to(ROOT).as_posix() for path in modules() if "duckdb.connect" in path.read_text("utf-8")}
    assert openers <= {"audit/engine.py"}


def test_the_engine_knows_of_no_store():
    assert not {"audit.store", "audit.cases", "audit.history", "audit.migration"} & imported(ROOT / "audit/engine.py")


def test_statistics_see_no_connection():
    for path in (ROOT / "audit" / "stats").glob("*.py"):
        assert not {name for name in imported(path) if name in ("audit.store", "duckdb")}, path


def test_installed_pair_of_pandas_and_lifelines():
    pandas, lifelines = Version(version("pandas")), Version(version("lifelines"))
    assert pandas < Version("3")
    assert lifelines >= Version("0.30.3")


def test_wheel_carries_queries_templates_and_defaults(tmp_path):
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(tmp_path), str(ROOT)],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    packed = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        path.relative_to(ROOT).as_posix()
        for package in PACKAGES
        for pattern in ("*.py", "*.sql", "*.toml", "*.j2", "*.css", "*.typ")
        for path in (ROOT / package).rglob(pattern)
    }
    assert wanted <= packed
    assert {name.split("/")[0] for name in packed if ".dist-info" not in name} == set(PACKAGES)
