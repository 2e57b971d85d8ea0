"""The dictionary asks little, has no two columns of one name, says why it asks, and alone lists what codes mean."""

import ast
import re
from pathlib import Path

import pytest

from audit import codes
from audit.dictionary import RECONSTRUCTION_KEY, SHEETS, TABLES, code_rows, fields, species_rows
from audit.intake.cells import reader

ROOT = Path(__file__).parent.parent
CODED = [(table, field) for table, field in fields() if field.codes]
KINDS = {
    "exit": {group.name for group in codes.EXIT_GROUPS} | {code.name for code in codes.EXIT_REASON},
    "method": {group.name for group in codes.METHOD_GROUPS} | {code.name for code in codes.METHOD},
    "contact": {group.name for group in codes.CONTACT_GROUPS} | {code.name for code in codes.CONTACT},
    "species": {species.name for species in codes.SPECIES},
}


def test_at_most_ten_core_columns_and_they_stand_first():
    for table in SHEETS:
        core = len(table.core)
        assert core <= 10, table.name
        assert table.fields[:core] == table.core, table.name


def test_what_may_not_be_blank_is_core_and_what_is_key_exists():
    for table in SHEETS:
        assert {field for field in table.fields if field.must} <= set(table.core)
        assert set(table.keys) <= {field.name for field in table.fields}


def test_names_are_unique_and_every_field_has_a_reason():
    for table in SHEETS:
        assert len({f.name for f in table.fields}) == len({f.column for f in table.fields}) == len(table.fields)
    assert all(field.why and field.term for _, field in fields())


def test_codes_are_plain_words_with_labels():
    for table, field in fields():
        assert (field.kind in ("code", "codes", "yes_no")) == bool(field.codes), (table.name, field.name)
        assert len(set(field.words)) == len(field.words)
        assert all(code.label and code.name.replace("-", "").replace("_", "").isalnum() for code in field.codes)


def test_every_table_below_a_wound_hangs_on_an_operation():
    for table in TABLES[2:]:
        assert table.keys[:3] == RECONSTRUCTION_KEY


@pytest.mark.parametrize(("table", "field"), CODED, ids=[f"{table.name}-{field.name}" for table, field in CODED])
def test_every_code_can_be_typed_by_its_name_or_its_label(table, field):
    read = reader(field)
    for code in field.codes:
        for typed in (code.name, code.name.replace("_", " ").upper(), code.label):
            assert read(typed).value == {"codes": (code.name,), "yes_no": code.name == "yes"}.get(field.kind, code.name)


def test_every_group_is_declared_and_used():
    grouped = {listed: {group.name for group in groups} for listed, groups in codes.GROUPS}
    for listed, names in grouped.items():
        assert {code.group for code in listed} == names
    for table, field in CODED:
        if any(code.group for code in field.codes):
            assert field.codes in grouped, f"{table.name}.{field.name} has groups that codes.GROUPS does not declare"
    names = [group.name for _, groups in codes.GROUPS for group in groups]
    assert len(set(names)) == len(names)


def test_queries_are_given_every_code_and_species_once():
    rows = code_rows()[1]
    assert len({row[:2] for row in rows}) == len(rows) == sum(len(field.codes) for _, field in CODED)
    assert species_rows()[1] == [("dog", 0, "dogs", 18, None), ("cat", 1, "cats", 22, 15)]


def listed_words(path):
    """The words of every literal list of a file: in brackets of a query, in a tuple, list, set or keys of a dict."""
    text = path.read_text("utf-8")
    if path.suffix == ".sql":
        bare = re.sub("--.*", "", text)
        yield from (re.findall("'([^']*)'", inside) for inside in re.findall(r"[(\[]([^()\[\]]*)[)\]]", bare))
        return
    for node in ast.walk(ast.parse(text)):
        elements = getattr(node, "elts", None) or getattr(node, "keys", None) or []
        yield [each.value for each in elements if isinstance(each, ast.Constant)]


@pytest.mark.parametrize("kind", KINDS)
def test_no_list_of_what_codes_mean_stands_outside_the_codes(kind):
    files = [*ROOT.glob("queries/**/*.sql"), *ROOT.glob("audit/**/*.py"), *ROOT.glob("reports/**/*.py")]
    # cats less dogs: the one question whose answer is a difference of two species by name
    allowed = {ROOT / "audit" / "codes.py", ROOT / "audit" / "analyses" / "species_difference.py"}
    found = [
        (path.relative_to(ROOT).as_posix(), words)
        for path in files
        if path not in allowed
        for words in listed_words(path)
        if len(KINDS[kind] & set(map(str, words))) > 1
    ]
    assert not found


def test_no_query_asks_for_a_species_or_an_exit_by_the_letters_of_its_name():
    for path in ROOT.glob("queries/**/*.sql"):
        text = path.read_text("utf-8")
        assert not re.search("'(dog|cat)'", text), path
        assert not re.search(r"(exit_reason|exit_group|done_method)\s+(not\s+)?like", text), path
