"""The page of methods names every method, only tests that there are, and the table that its command writes."""

import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
import typing
from dataclasses import fields, is_dataclass
from pathlib import Path

import audit.stats
from audit.results import Estimate

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "audit" / "METHODS.md").read_text("utf-8")
BEGIN, END = "<!-- measured coverage: begin -->", "<!-- measured coverage: end -->"


def judges(kind: object) -> bool:
    """Whether a value of this type carries an estimate, limits, or the p of a test."""
    if kind is Estimate:
        return True
    if is_dataclass(kind):
        own = [hint for name, hint in typing.get_type_hints(kind).items() if name in {f.name for f in fields(kind)}]
        names = {field.name for field in fields(kind)}
        returned = [
            typing.get_type_hints(member.fget).get("return")
            for _, member in inspect.getmembers(kind, lambda member: isinstance(member, property))
            if "_repr" not in member.fget.__name__ and member.fget.__name__ != "frame"
        ]
        return "p" in names or {"low", "high"} <= names or any(judges(hint) for hint in own + returned)
    return any(judges(part) for part in typing.get_args(kind))


def methods() -> set[str]:
    found = set()
    for module in pkgutil.iter_modules(audit.stats.__path__):
        loaded = importlib.import_module(f"audit.stats.{module.name}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if function.__module__ != loaded.__name__ or name.startswith("_"):
                continue
            returned = inspect.signature(function).return_annotation
            if judges(returned) or name.endswith("_p"):
                found.add(f"{module.name}.{name}")
    return found


def test_every_method_that_judges_is_on_the_page():
    listed = methods()
    assert {
        "proportions.clustered_share",
        "proportions.permutation_p",
        "kruskal.kruskal_wallis",
        "aft.aft",
        "profile.band",
    } <= listed
    assert {name for name in listed if f"`{name}`" not in PAGE} == set()


def test_methods_and_tests_on_the_page_exist():
    for module, name in re.findall(r"`([a-z_]+)\.([a-z_]+)`", PAGE.replace(".py`", "`")):
        assert hasattr(importlib.import_module(f"audit.stats.{module}"), name), f"{module}.{name}"
    named = set(re.findall(r"`(test_[a-z_]+\.py)`", PAGE))
    assert named
    assert {name for name in named if not (Path(__file__).parent / name).exists()} == set()


def test_table_on_the_page_is_the_one_that_the_command_writes(tmp_path):
    page = tmp_path / "page.md"
    page.write_text(f"before\n{BEGIN}\n{END}\nafter\n", "utf-8")
    command = [sys.executable, "-m", "tests.benchmarks.coverage", "--runs", "1", "--write", str(page)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    written = page.read_text("utf-8")
    assert written.startswith(f"before\n{BEGIN}\n")
    assert written.endswith(f"{END}\nafter\n")
    assert rows(written) == rows(PAGE)


def rows(text: str) -> list[list[str]]:
    """Headings and the first three columns of every line: what was measured, and where."""
    table = text[text.index(BEGIN) : text.index(END)]
    lines = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines() if line.startswith("|")
    ]
    return [line if line[0] == "quantity" else line[:3] for line in lines]
