"""The workbook of tables: text stays text, numbers are numbers, heads stand over their columns."""

import io
from zipfile import ZipFile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.utils.escape import unescape

from reports.document import Column, Table
from reports.formats.to_xlsx import number_in, to_xlsx

COLUMNS = (Column("Species"), Column("Grafts", align="right"), Column("Area", "cm²", "right"))


def table(*rows: tuple[str, str, str], **more) -> Table:
    return Table(**{"id": "areas", "title": "Areas", "columns": COLUMNS, "rows": rows, **more})


def merged_heads(sheet) -> set[str]:
    return {str(merged) for merged in sheet.merged_cells.ranges if 4 <= merged.min_row <= 5}


def opened(*tables: Table):
    return load_workbook(io.BytesIO(to_xlsx(tables)))


def test_numbers_are_numbers_and_all_else_is_text():
    sheet = opened(
        table(("=1+1", "1,204", "−3.50"), ("007", "12 of 16", "34 %"), ("@SUM(A1)", "", "1234567890123456"))
    )["1 Areas"]
    rows = [[(cell.value, cell.data_type) for cell in row] for row in sheet["A5:C7"]]
    assert rows == [
        [("=1+1", "s"), (1204, "n"), (-3.5, "n")],
        [("007", "s"), ("12 of 16", "s"), ("34 %", "s")],
        [("@SUM(A1)", "s"), (None, "n"), ("1234567890123456", "s")],
    ]
    assert [sheet[place].number_format for place in ("B5", "C5")] == ["#,##0", "0.00"]
    assert {sheet[place].alignment.horizontal for place in ("B5", "C5", "B6", "C4")} == {"right"}


@given(st.floats(-1e9, 1e9), st.integers(0, 5), st.booleans())
def test_a_number_reads_back_as_it_was_written(value, decimals, grouped):
    text = f"{value:{',' if grouped else ''}.{decimals}f}"
    number, _ = number_in(text.replace("-", "−"))
    assert f"{number:{',' if grouped else ''}.{decimals}f}" == text


@pytest.mark.parametrize(
    "text",
    ["", "-", "–", "1e5", "12.", ".5", "1,20", "01", "1,0000", "3 to 5", "1 204", "nan", "٣", "1,234,567,890,123,456"],
)
def test_what_is_not_wholly_a_number_stays_text(text):
    assert number_in(text) is None


@given(st.text(max_size=30))
def test_any_text_is_read_back(text):
    shown = table((f"x{text}", "", ""), title=f"x{text}", notes=(f"x{text}",), spans=((f"x{text}", 3),))
    kept = "".join(letter if letter not in "\ufffe\uffff" else "\ufffd" for letter in f"x{text}")
    book = opened(shown)
    sheet = book.worksheets[1]
    assert [unescape(sheet[place].value) for place in ("A4", "A6", "A8")] == [kept] * 3
    assert unescape(sheet["A1"].value) == f"Table 1. {kept}"
    assert len(sheet.title) <= 31


def test_heads_stand_over_what_they_head_and_stay_in_view():
    sheet = opened(table(("Dogs", "12", "3"), spans=(("", 1), ("Measured", 2)), notes=("Wilson.",)))["1 Areas"]
    assert merged_heads(sheet) == {"A4:A5", "B4:C4"}
    assert [cell.value for cell in sheet[4][:3]] == ["Species", "Measured", None]
    assert [cell.value for cell in sheet[5][:3]] == [None, "Grafts", "Area (cm²)"]
    assert [cell.value for cell in sheet[6][:3]] == ["Dogs", 12, 3]
    assert sheet["A8"].value == "Wilson."
    assert (sheet.freeze_panes, sheet.print_title_rows) == ("B6", "$1:$5")


def test_a_span_over_one_column_is_not_merged():
    sheet = opened(table(("Dogs", "12", "3"), spans=(("", 2), ("Measured", 1))))["1 Areas"]
    assert merged_heads(sheet) == {"A4:A5", "B4:B5"}
    assert [sheet["C4"].value, sheet["C5"].value] == ["Measured", "Area (cm²)"]


def test_the_first_sheet_leads_to_every_table():
    title = "Take of 75 % or more: by [location], method / 'outline'? And so on"
    book = opened(table(("Dogs", "12", "3")), table(title=title), table(title=title.upper()))
    listed = [[cell.value for cell in row] for row in book.worksheets[0]["A5:B7"]]
    assert listed == [["Table 1", "Areas"], ["Table 2", title], ["Table 3", title.upper()]]
    targets = [book.worksheets[0][f"A{row}"].hyperlink.location for row in (5, 6, 7)]
    assert targets == [f"'{name}'!A1" for name in book.sheetnames[1:]]
    assert all(len(name) <= 31 for name in book.sheetnames)
    assert book.worksheets[2]["A5"].value == "No rows"


def test_long_text_wraps_in_a_column_of_some_width():
    sheet = opened(table(("word " * 60, "1", "2")))["1 Areas"]
    assert sheet["A5"].alignment.wrap_text
    assert 30 <= sheet.column_dimensions["A"].width <= 45


def test_same_tables_same_bytes():
    book = to_xlsx([table(("Dogs", "12", "3"))])
    assert book == to_xlsx([table(("Dogs", "12", "3"))])
    with ZipFile(io.BytesIO(book)) as packed:
        assert {part.date_time[0] for part in packed.infolist()} == {1980}
        assert b"2000-01-01T00:00:00Z" in packed.read("docProps/core.xml")
