"""What the template shows is what the dictionary says; what is written comes back unchanged."""

import datetime as dt
import zipfile

import openpyxl
import pytest
from one_animal import KEY, case, check, together

from audit.dictionary import SHEETS, TABLES
from audit.intake.check_workbook import check_workbook
from audit.intake.codebook import as_csv, code_rows, field_rows
from audit.intake.example import EXAMPLE
from audit.intake.headings import NOT_RECORDS, match_columns, match_sheets
from audit.intake.reading import read_sheets
from audit.intake.rows import read_rows
from audit.intake.template import in_order, write_template

ATTACKS = ["=1+1", "+1+1", "-1+1", "@SUM(A1)", '=HYPERLINK("http://x")', "\t=1+1", "00042", "1e5"]


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    path = tmp_path_factory.mktemp("template") / "template.xlsx"
    write_template(path)
    return path


@pytest.fixture(scope="module")
def book(template):
    return openpyxl.load_workbook(template)


def test_sheets_headings_and_notes(book):
    assert book.sheetnames == ["Read me", *[table.title for table in SHEETS], "Lists"]
    assert {name.lower().replace(" ", "_") for name in (book.sheetnames[0], book.sheetnames[-1])} <= set(NOT_RECORDS)
    for table in SHEETS:
        head = book[table.title][1]
        assert [cell.value for cell in head] == [field.heading for field in in_order(table)]
        for cell, field in zip(head, in_order(table), strict=True):
            assert field.why in cell.comment.text
            assert (f"Blank means {field.default}\n" in cell.comment.text) == bool(field.default)
            assert hidden(book[table.title], cell.column) == (not field.core)
        assert book[table.title].freeze_panes


def hidden(sheet, column: int) -> bool:
    return any(group.hidden for group in sheet.column_dimensions.values() if group.min <= column <= group.max)


def test_every_word_can_be_chosen_and_every_absence_typed(book):
    for table in SHEETS:
        rules = {str(rule.sqref).split(":")[0]: rule for rule in book[table.title].data_validations.dataValidation}
        for cell, field in zip(book[table.title][2], in_order(table), strict=True):
            rule = rules[cell.coordinate]
            if field.codes:
                letter, last = rule.formula1.split("$")[1], int(rule.formula1.split("$")[-1])
                words = [book["Lists"][f"{letter}{row}"].value for row in range(1, last + 1)]
                assert words[: len(field.words)] == [word.replace("_", " ") for word in field.words]
                assert words[len(field.words) :] == ["not recorded", "not applicable", "not assessable", "refused"]
            else:
                assert rule.errorStyle == "warning"
                kind = {"whole": "whole", "number": "decimal", "day": "date", "month": "date"}
                assert rule.type == kind.get(field.kept_as, "textLength")
                if field.kept_as in ("whole", "number"):
                    assert (float(rule.formula1), float(rule.formula2)) == (field.low, field.high)


def test_the_example_row_is_shaded_throughout_and_no_row_below_it_is(book):
    for table in SHEETS:
        sheet = book[table.title]
        shaded = {cell.column for cell in sheet[2] if cell.fill.fill_type == "solid"}
        assert shaded == set(range(1, len(table.fields) + 1))
        assert not [cell for row in sheet.iter_rows(min_row=3) for cell in row if cell.fill.fill_type == "solid"]


def test_no_formula_no_macro_no_link(template):
    with zipfile.ZipFile(template) as parts:
        assert not [name for name in parts.namelist() if "vba" in name.lower() or "external" in name.lower()]
        sheets = [parts.read(name) for name in parts.namelist() if name.startswith("xl/worksheets/sheet")]
    assert sheets
    assert not [text for text in sheets if b"<f>" in text or b"<f " in text or b"<hyperlink" in text]


def test_same_rows_same_bytes(template, tmp_path):
    again = tmp_path / "again.xlsx"
    write_template(again)
    assert again.read_bytes() == template.read_bytes()


def test_example_row_is_shown_and_would_be_right(template, book, tmp_path):
    """Read under another number, the example has no error."""
    for table in SHEETS:
        sheet = book[table.title]
        assert sheet["A2"].value == EXAMPLE
        sheet["A2"] = "1"
    book.save(tmp_path / "example.xlsx")
    intake = check_workbook(tmp_path / "example.xlsx", key=KEY)
    assert not intake.errors, [str(fault) for fault in intake.errors]
    assert len(intake.tables["visits"]) == 1


def test_blank_template_says_that_it_holds_nothing(template):
    assert [fault.check for fault in check_workbook(template, key=KEY).faults] == ["no_rows"]


def every_field() -> dict:
    """A row a sheet with a value in every field."""
    made = {}
    for table in TABLES:
        row = {}
        for field in table.fields:
            if field.codes:
                row[field.name] = [*field.words[1:3]] if field.kind == "codes" else field.words[-1]
            elif field.kind == "date":
                row[field.name] = dt.date(2024, 5, 16)
            else:
                row[field.name] = {"key": "A" if field.name == "wound_letter" else 1, "token": "00x"}.get(field.kind)
            if field.kind == "whole":
                row[field.name] = int(field.high)
            elif field.kind == "number":
                row[field.name] = field.high - 0.25
        made[table.name] = [row | {"patient_number": "00042"}]
    return made


def test_round_trip_of_every_field(tmp_path):
    rows = every_field()
    write_template(tmp_path / "book.xlsx", rows)
    sheets = read_sheets(tmp_path / "book.xlsx")
    for table, sheet in match_sheets(sheets, faults := []):
        layout = match_columns(table, sheet, faults)
        read = read_rows(layout, dates="iso", faults=faults)
        if table.name in rows:
            expected = {
                name: tuple(value) if isinstance(value, list) else value for name, value in rows[table.name][0].items()
            }
            yes = {field.name for field in table.fields if field.kind == "yes_no"}
            expected |= {name: expected[name] == "yes" for name in yes}
            assert dict(read[0].data) == expected
    assert [fault for fault in faults if fault.severity == "error"] == []


@pytest.mark.parametrize("text", ATTACKS)
def test_text_stays_text(text, tmp_path):
    path = tmp_path / "book.xlsx"
    write_template(path, together(case(text)))
    cell = openpyxl.load_workbook(path)["Animals"]["A3"]
    assert (cell.value, cell.data_type) == (text, "s")
    (sheet,) = [sheet for sheet in read_sheets(path) if sheet.name == "Animals"]
    assert sheet.rows[2][1][0] == text


def test_number_that_looks_like_a_formula_is_only_a_number(tmp_path):
    intake = check(case("=1+1"), tmp_path)
    assert intake.faults == ()
    assert intake.links[0][1] == "=1+1"


def test_codebook_names_every_field_and_word():
    assert len(field_rows()) == sum(len(table.fields) for table in SHEETS)
    assert len(code_rows()) == sum(len(field.codes) for table in SHEETS for field in table.fields) + 4
    assert as_csv(code_rows()).count("\r\n") == len(code_rows()) + 1
    assert {row["becomes"] for row in field_rows() if row["heading"] == "Surgery date"} == {"month and running order"}
