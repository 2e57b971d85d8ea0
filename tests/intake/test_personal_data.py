"""What names or reaches a person is found wherever it stands, and is not repeated. All values are invented."""

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from one_animal import KEY, case

from audit.intake.check_workbook import check_workbook
from audit.intake.personal_data import personal
from audit.intake.template import write_template

FOUND = [
    ("write to ann.owner@example.org please", "e_mail"),
    ("see www.example.org/rex", "web_address"),
    ("https://example.org/a?b=c", "web_address"),
    ("941000012345678", "microchip"),
    ("chip 941 0000 1234 5678", "microchip"),
    (941000012345678, "microchip"),
    (941000012345678.0, "microchip"),
    ("01632 960 983", "telephone"),
    ("+44 (0)1632 960983", "telephone"),
    ("ring 0049-30-23125-000 on 2024-05-06", "telephone"),
    ("Ann,01632 960 983", "telephone"),
    (447700900123, "telephone"),
    ("at ZZ9 9ZZ", "postcode"),
    ("1234 AB Dorp", "postcode"),
    ("D-99999", "postcode"),
]


@pytest.mark.parametrize(("raw", "check"), FOUND)
def test_personal_values_are_found(raw, check):
    assert [problem.check for problem in personal(raw)] == [check]


@pytest.mark.parametrize(
    "raw",
    [
        "12/03/2024",
        "28,706534567",
        "28.706534567",
        "2024-05-06 09:30",
        "6.5.2024 - 20.5.2024",
        "mesh full; strip",
        "hair-v1",
        1500,
        0.941000012345678,
        "0.941000012345678",
        12.5,
        None,
        True,
        "g3",
        "seen on day 10",
    ],
)
def test_what_is_not_personal_passes(raw):
    assert list(personal(raw)) == []


@given(st.dates(), st.dates(), st.sampled_from(["%Y-%m-%d", "%d/%m/%Y", "%d.%m.%y", "%Y/%m/%d"]))
def test_dates_never_look_like_telephones(first, second, order):
    assert list(personal(f"{first.strftime(order)} to {second.strftime(order)}")) == []


def test_numbers_of_the_practice_are_replaced_and_may_look_like_anything_but_chips():
    assert list(personal("0163296098", is_key=True)) == []
    assert [problem.check for problem in personal("941000012345678", is_key=True)] == ["microchip"]


def test_found_in_any_sheet_row_and_column_and_masked(tmp_path):
    path = tmp_path / "book.xlsx"
    write_template(path, case())
    book = openpyxl.load_workbook(path)
    book.create_sheet("Remarks")
    places = {(sheet, row) for sheet in ("Animals", "Visits", "Read me", "Remarks") for row in (2, 3, 5)}
    for sheet, row in places:
        book[sheet].cell(row, 60, "ann.owner@example.org")
    book["Exits"].cell(1, 60, "write to ann.owner@example.org")
    places.add(("Exits", 1))
    book.save(path)
    intake = check_workbook(path, key=KEY)
    assert {(fault.sheet, fault.row) for fault in intake.errors} == places
    assert {fault.check for fault in intake.errors} == {"e_mail"}
    assert "owner" not in repr(intake)
    assert intake.tables == {}


def test_a_text_among_dates_and_a_number_among_texts_are_looked_at_too(tmp_path):
    rows = case()
    rows["visits"][0] |= {"visit_date": "ann.owner@example.org", "open_area_cm2": 447700900123}
    path = tmp_path / "book.xlsx"
    write_template(path, rows)
    checks = {fault.check for fault in check_workbook(path, key=KEY).faults if fault.sheet == "Visits"}
    assert checks >= {"e_mail", "telephone"}


def test_personal_value_in_a_read_column_is_quoted_by_no_other_fault(tmp_path):
    rows = case()
    rows["visits"][0]["viable_pct"] = "ask ann.owner@example.org"
    rows["visits"][1]["contact"] = "ZZ9 9ZZ"
    path = tmp_path / "book.xlsx"
    write_template(path, rows)
    faults = check_workbook(path, key=KEY).faults
    assert {fault.check for fault in faults if fault.sheet == "Visits"} == {"e_mail", "postcode", "unknown_word"}
    assert not any(word in str(fault) + fault.value for fault in faults for word in ("ann", "ZZ9"))
