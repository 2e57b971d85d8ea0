"""The catalogue builds what was asked of it, once and no more, and page and paper leave nothing in it unused."""

from types import SimpleNamespace

import pytest

from reports import catalogue
from reports.audit_report import SHOWN
from reports.catalogue import Catalogue
from reports.document import Column, Table
from reports.write_up import manuscript, tables


def one_row(name: str) -> Table:
    return Table(name, "T", (Column("A"),), (("1",),))


def test_a_table_is_built_when_it_is_asked_for_and_once(monkeypatch):
    built = []
    monkeypatch.setattr(
        catalogue, "TABLES", {name: lambda audit, name=name: built.append(name) or one_row(name) for name in "abc"}
    )
    shown = Catalogue(SimpleNamespace())
    assert built == []
    assert [table.id for table in shown.tables("c", "a")] == ["c", "a"]
    assert shown.tables("c") == shown.tables("c")
    assert built == ["c", "a"]


def test_what_has_nothing_to_show_is_left_out(monkeypatch):
    monkeypatch.setattr(
        catalogue,
        "TABLES",
        {"none": lambda audit: None, "empty": lambda audit: Table("empty", "T", (Column("A"),), ())},
    )
    assert Catalogue(SimpleNamespace()).tables("none", "empty") == ()
    with pytest.raises(KeyError, match="strange"):
        Catalogue(SimpleNamespace()).tables("strange")


def test_every_figure_and_table_is_shown_somewhere_and_no_other_is_asked_for():
    on_page = [set().union(*names) for names in zip(*SHOWN.values(), strict=True)]
    assert on_page[0] | set(manuscript.FIGURES) | set(manuscript.WITHOUT_RISKS) == set(catalogue.FIGURES)
    assert on_page[1] | set(tables.TABLES) == set(catalogue.TABLES)
