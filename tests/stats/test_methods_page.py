"""The catalogue of methods knows every method that gives a number, and the page of methods is made from it."""

import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
import typing
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from method_names import names_by_module

import audit.stats
from audit.methods import catalogue, known, method_key, patterns
from audit.results import Estimate
from tests.benchmarks import methods_page

ROOT = Path(__file__).parent.parent.parent
PAGE = (ROOT / "audit" / "METHODS.md").read_text("utf-8")
BEGIN, END = "<!-- measured coverage: begin -->", "<!-- measured coverage: end -->"
METHODS = catalogue().methods


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


def functions_that_judge() -> set[str]:
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


def test_every_function_that_judges_has_a_method_and_every_method_its_functions():
    listed = functions_that_judge()
    assert {
        "proportions.clustered_share",
        "proportions.permutation_p",
        "kruskal.kruskal_wallis",
        "aft.aft",
        "profile.band",
    } <= listed
    given = {name for method in METHODS.values() for name in method.functions}
    assert listed - given == set()
    for name in given:
        module, function = name.split(".")
        assert callable(getattr(importlib.import_module(f"audit.stats.{module}"), function)), name


def test_every_name_that_the_statistics_can_give_is_that_of_one_method_of_their_module():
    by_module = names_by_module()
    assert sum(map(len, by_module.values())) > 40
    for module, names in by_module.items():
        for name in names:
            assert len([key for key, pattern in patterns() if pattern.fullmatch(name)]) == 1, name
            assert module in {function.split(".")[0] for function in METHODS[method_key(name)].functions}, name


def test_every_name_of_the_catalogue_is_given():
    given = set().union(*names_by_module().values())
    assert [pattern.pattern for _, pattern in patterns() if not any(map(pattern.fullmatch, given))] == []


@pytest.mark.parametrize(
    "name", ["Wilson score", "wilson", "t with a bootstrap of animals", "square-and-add of Wald", ""]
)
def test_a_name_that_no_method_has_is_refused(name):
    with pytest.raises(ValueError, match=f'no method of methods.toml has the name "{name}"'):
        method_key(name)


def test_a_key_that_no_method_has_is_refused():
    with pytest.raises(ValueError, match=r"no method has the key wislon; take one of methods\.toml: exact-share"):
        known(["share", "wislon"])


def test_tables_of_methods_are_those_of_the_catalogue():
    assert methods_page.between(PAGE, methods_page.BEGIN, methods_page.END, methods_page.tables()) == PAGE
    cells = [re.split(r" \| ", line) for line in methods_page.tables().splitlines() if line.startswith("| ")]
    assert {len(row) for row in cells} == {len(methods_page.COLUMNS)}


def test_tests_and_functions_on_the_page_exist():
    for module, name in re.findall(r"`([a-z_]+)\.([a-z_]+)`", PAGE.replace(".py`", "`").replace(".toml`", "`")):
        assert hasattr(importlib.import_module(f"audit.stats.{module}"), name), f"{module}.{name}"
    for method in METHODS.values():
        named = re.findall(r"`(test_[a-z_]+\.py)`", method.checked)
        assert named, method.key
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
