"""The marked copy leads to every fault and leaves the rest as it was."""

import openpyxl
import pytest
from one_animal import KEY, case
from test_reading import as_csv

from audit.errors import WorkbookError
from audit.intake.check_workbook import check_workbook
from audit.intake.marked import write_marked
from audit.intake.template import write_template


def faulty() -> dict:
    rows = case("=1+1")
    rows["visits"][0] |= {"viable_pct": 140, "contact": '=HYPERLINK("x")'}
    rows["exits"] = []
    return rows


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("marked")


@pytest.fixture(scope="module")
def marked(folder):
    write_template(folder / "book.xlsx", faulty())
    intake = check_workbook(folder / "book.xlsx", key=KEY)
    write_marked(folder / "book.xlsx", intake.faults, folder / "marked.xlsx")
    return intake, openpyxl.load_workbook(folder / "marked.xlsx")


def test_list_leads_to_each_cell(marked):
    intake, book = marked
    assert book.sheetnames[0] == "Faults"
    sheet = book["Faults"]
    listed = [(row[1].value, row[4].value, row[5].value) for row in sheet.iter_rows(min_row=4)]
    assert listed == [(fault.sheet, fault.cell or "go there", fault.sentence) for fault in intake.faults]
    for row, fault in enumerate(intake.faults, start=4):
        assert sheet.cell(row, 5).hyperlink.location == f"'{fault.sheet}'!{fault.cell or 'A1'}"


def test_faulty_cells_are_filled_and_noted_and_others_are_not(marked, folder):
    intake, book = marked
    original = openpyxl.load_workbook(folder / "book.xlsx")
    faulty_cells = {(fault.sheet, fault.cell) for fault in intake.faults}
    assert ("Visits", "H3") in faulty_cells
    for sheet in original.worksheets:
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            copy = book[sheet.title][cell.coordinate]
            assert (copy.value, copy.data_type) == (cell.value, cell.data_type)
            assert (copy.fill.fgColor.rgb != cell.fill.fgColor.rgb) == ((sheet.title, cell.coordinate) in faulty_cells)
    assert "140 is outside 0 to 100 %" in book["Visits"]["H3"].comment.text
    assert "Check" in book["Visits"]["H3"].comment.text


def test_texts_that_look_like_formulas_stay_texts(marked):
    _, book = marked
    assert {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row} <= {"s", "n", "d"}
    assert book["Animals"]["A3"].value == "=1+1"


def test_marking_a_marked_copy_keeps_one_list(marked, folder):
    path = folder / "marked.xlsx"
    again = check_workbook(path, key=KEY)
    assert [fault.check for fault in again.faults] == [fault.check for fault in marked[0].faults]
    write_marked(path, again.faults, folder / "again.xlsx")
    assert openpyxl.load_workbook(folder / "again.xlsx").sheetnames == marked[1].sheetnames


def test_original_is_never_written_over(marked, folder):
    with pytest.raises(WorkbookError, match="another name"):
        write_marked(folder / "book.xlsx", (), folder / "book.xlsx")


def test_folder_of_csv_comes_back_as_a_workbook(tmp_path):
    as_csv(tmp_path, faulty())
    intake = check_workbook(tmp_path, key=KEY)
    write_marked(tmp_path, intake.faults, tmp_path / "marked.xlsx")
    book = openpyxl.load_workbook(tmp_path / "marked.xlsx")
    assert book["visits"]["H2"].comment.text.startswith("ERROR: 140")
    assert (book["animals"]["A2"].value, book["animals"]["A2"].data_type) == ("=1+1", "s")


def test_a_long_name_of_a_csv_file_is_cut_to_what_a_workbook_allows(tmp_path):
    as_csv(tmp_path, faulty())
    (tmp_path / f"{'notes on ' * 4}x.csv").write_text("one,two\n1,2\n", encoding="utf-8")
    write_marked(tmp_path, (), tmp_path / "marked.xlsx")
    assert ("notes on " * 4)[:31] in openpyxl.load_workbook(tmp_path / "marked.xlsx").sheetnames
