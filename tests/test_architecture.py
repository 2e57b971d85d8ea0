"""Imports run one way; only the store opens DuckDB; the wheel carries what the program reads."""

import ast
import subprocess
import sys
import zipfile
from graphlib import TopologicalSorter
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.version import Version

ROOT = Path(__file__).parent.parent
PACKAGES = ("audit", "queries", "reports", "synthetic_data")
ALLOWED = {"audit": {"audit", "queries"}, "queries": set(), "synthetic_data": {"audit"}, "reports": {"audit"}}
REACH_EVERYTHING = {"reports/cli.py", "reports/demo.py"}
# The rooms of a package, lowest first; those of one step stand side by side. A module may import its own room and those
# of lower steps.
ORDER = {
    "audit": (
        ("errors", "codes", "results"),
        ("dictionary", "protocol", "stats", "methods"),
        ("schema",),
        ("engine", "history"),
        ("cases", "migration", "intake"),
        ("analyses", "store"),
        ("method_log",),
    ),
    "reports": (
        ("wording", "spelling", "document"),
        ("prose", "cautions"),
        ("drawing", "formats", "word", "references"),
        ("figures", "cli_messages"),
        ("sections",),
        ("catalogue", "outcome_selected"),
        ("write_up.evidence", "write_up.case_table"),
        ("write_up.phrases",),
        ("write_up.results", "write_up.limitations"),
        ("write_up", "audit_report"),
        ("demo",),
        ("cli",),
    ),
}


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


def module_name(path: Path) -> str:
    return path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".").removesuffix(".__init__")


def import_graph() -> dict[str, set[str]]:
    """For each module of ours, the modules of ours that it imports, wherever the import stands."""
    paths = {module_name(path): path for path in modules()}
    graph: dict[str, set[str]] = {}
    for name, path in paths.items():
        graph[name] = imported(path) & set(paths)
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom):
                graph[name] |= {f"{node.module}.{alias.name}" for alias in node.names} & set(paths)
    # `from package import module` needs the module; the package itself holds nothing.
    return {name: {other for other in others if paths[other].name != "__init__.py"} for name, others in graph.items()}


def step_and_room(package: str, name: str) -> tuple[int, str]:
    """The step and the room of a module: the longest of the listed names that it begins with."""
    rooms = {f"{package}.{room}": step for step, listed in enumerate(ORDER[package]) for room in listed}
    own = [room for room in rooms if name == room or name.startswith(f"{room}.")]
    assert own, f"{name} stands in no room; give it one in ORDER"
    room = max(own, key=len)
    return rooms[room], room


@pytest.mark.parametrize("package", sorted(ORDER))
def test_rooms_import_only_lower_rooms(package):
    graph = {name: others for name, others in import_graph().items() if name.startswith(f"{package}.")}
    back = []
    for name, others in graph.items():
        step, room = step_and_room(package, name)
        for other in others & set(graph):
            below, lower = step_and_room(package, other)
            if room != lower and below >= step:
                back.append(f"{name} imports {other}")
    assert back == []


def test_no_modules_import_each_other_in_a_circle():
    tuple(TopologicalSorter(import_graph()).static_order())  # raises CycleError, which names the circle


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


def test_every_analysis_is_asked_by_the_audit():
    graph = import_graph()
    reached, ahead = set(), {"audit.analyses.run"}
    while ahead:
        reached |= ahead
        ahead = set().union(*(graph[name] for name in ahead)) - reached
    # the lines of a practice's own list of cases, which are no answer of the audit
    listed = {"audit.analyses", "audit.analyses.case_lines"}
    unasked = {name for name in graph if name.startswith("audit.analyses")} - reached - listed
    assert not unasked, f"ask these in audit/analyses/run.py: {sorted(unasked)}"


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
