"""How the sheets of the template help to fill them: widths, print, drop-downs, ranges, notes, and the row to copy."""

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from audit.dictionary import SHEETS, table
from audit.intake.template import in_order, note, unit, write_template

FIELDS = [(sheet, field) for sheet in SHEETS for field in in_order(sheet)]


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = tmp_path_factory.mktemp("template") / "template.xlsx"
    rows = {"animals": [{"patient_number": "7", "species": "dog", "age_years": 4.5, "comorbidity": ["none"]}]}
    write_template(path, rows)
    return openpyxl.load_workbook(path)


def width(sheet, position: int) -> float:
    groups = sheet.column_dimensions.values()
    return next(group.width for group in groups if group.min <= position <= group.max)


def rules(sheet) -> dict:
    return {str(rule.sqref): rule for rule in sheet.data_validations.dataValidation}


def test_every_heading_fits_its_column_and_no_column_is_wider_than_a_line(book):
    for sheet in SHEETS:
        for position, field in enumerate(in_order(sheet), start=1):
            shown = width(book[sheet.title], position)
            assert (12 if field.kind == "key" else 16) <= shown < 31, field.name
            assert shown > min(30, 2 + max(len(word) for word in field.heading.split())), field.name
            assert shown > min(30, 1 + max((len(word) for word in field.words), default=0)), field.name
            assert shown > min(30, len(field.heading) / 2), field.name
    assert width(book["Animals"], 1) < 13.5  # a patient number needs little


def test_every_sheet_prints_across_one_page_with_its_headings_on_each(book):
    for sheet in (book[each.title] for each in SHEETS):
        assert (sheet.page_setup.orientation, sheet.page_setup.paperSize) == ("landscape", 9)
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) in ((1, 0), (None, 0))
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.print_title_rows == "$1:$1"
    assert (book["Read me"].page_setup.orientation, book["Read me"].page_setup.paperSize) == ("portrait", 9)
    assert book["Lists"].sheet_state == "hidden"
    assert book["Read me"].sheet_view.showGridLines is False


def test_headings_and_keys_stay_in_sight(book):
    for sheet in SHEETS:
        keys = min(3, sum(field.kind == "key" for field in sheet.fields))
        assert book[sheet.title].freeze_panes == f"{get_column_letter(keys + 1)}2"


def test_the_rest_is_folded_away_and_can_be_opened(book):
    for sheet in SHEETS:
        groups = book[sheet.title].column_dimensions.values()
        assert any(group.collapsed for group in groups) == (len(sheet.core) < len(sheet.fields))
        assert all(group.outlineLevel == int(bool(group.hidden)) for group in groups)


def test_rules_reach_a_thousand_rows_and_hold_the_range_of_their_field(book):
    for sheet in SHEETS:
        ranges = rules(book[sheet.title])
        for position, field in enumerate(in_order(sheet), start=1):
            letter = get_column_letter(position)
            rule = ranges[f"{letter}2:{letter}1001"]
            if field.words:
                assert (rule.type, rule.showErrorMessage) == ("list", field.kind != "codes")
            elif field.kind in ("whole", "number"):
                assert rule.type == ("whole" if field.kind == "whole" else "decimal")
                assert (float(rule.formula1), float(rule.formula2)) == (field.low, field.high)
            elif field.kind == "date":
                assert (rule.type, rule.formula1, rule.formula2) == ("date", "32874", "73051")
            elif field.name in ("operation_number", "donor_number"):
                assert (rule.type, rule.formula1, rule.formula2) == ("whole", "1", "20")
            else:
                assert (rule.type, rule.operator, rule.formula1) == ("textLength", "lessThanOrEqual", "40")


def test_lists_stand_beside_each_other_and_their_rules_point_at_them(book):
    sources = {rule.formula1 for sheet in SHEETS for rule in rules(book[sheet.title]).values() if rule.type == "list"}
    letters = sorted({source.split("$")[1] for source in sources}, key=lambda letter: (len(letter), letter))
    assert letters == [get_column_letter(position) for position in range(1, len(sources) + 1)]
    for source in sources:
        _, letter, first, _, last = source.replace(":", "").split("$")
        cells = [book["Lists"][f"{letter}{row}"].value for row in range(int(first), int(last) + 2)]
        assert all(cells[:-1])
        assert cells[-1] is None


def test_example_and_records_look_unlike_and_hold_dates_numbers_and_texts_as_such(book):
    sheet = book["Animals"]
    columns = {cell.value: cell.column for cell in sheet[1]}
    example, record = (sheet.cell(row, columns["Species"]) for row in (2, 3))
    assert example.fill.fgColor.rgb != record.fill.fgColor.rgb
    assert example.font.italic
    assert not record.font.italic
    age = sheet.cell(3, next(column for head, column in columns.items() if head.startswith("Age")))
    assert (age.value, age.alignment.horizontal) == (4.5, "left")
    assert sheet.cell(3, 1).number_format == "@"
    surgery = book["Reconstructions"][2][columns_of(book["Reconstructions"])["Surgery date"] - 1]
    assert surgery.number_format == "yyyy-mm-dd"
    assert sheet.cell(4, 1).value is None


def columns_of(sheet) -> dict[str, int]:
    return {cell.value: cell.column for cell in sheet[1]}


def test_notes_say_range_unit_words_default_and_why():
    visits = table("visits")
    lines = note(visits["viable_pct"]).split("\n")
    assert lines[1] == "From 0 to 100 %"
    assert lines[-1] == f"Why: {visits['viable_pct'].why}"
    assert note(visits["visit_date"]).split("\n")[1] == "Date, as yyyy-mm-dd"
    assert unit(visits["visit_date"]) == ""
    assert unit(visits["open_area_cm2"]) == "cm²"
    for _, field in FIELDS:
        text = note(field)
        assert text[0] == text[0].upper()
        assert ("Several words" in text) == (field.kind == "codes")
        assert (f"Blank means {field.default}" in text) == bool(field.default)
        if field.kind == "code":
            listed = [code.label for code in field.codes if code.label != code.name.replace("_", " ")]
            assert all(label in text for label in listed)
