"""Sheets, headings and odd cells as practices hand them in, and the same records as CSV."""

import csv
import datetime as dt

import openpyxl
import pytest
from one_animal import KEY, case, check, found

from audit.dictionary import TABLES
from audit.errors import WorkbookError
from audit.intake import checks
from audit.intake.check_workbook import check_workbook
from audit.intake.template import in_order, write_template


@pytest.fixture
def edited(tmp_path):
    """Writes the clean animal, lets the test change the workbook as a person would, and checks it."""

    def edit(change, **options):
        path = tmp_path / "book.xlsx"
        write_template(path, case())
        book = openpyxl.load_workbook(path)
        change(book)
        book.save(path)
        return check_workbook(path, key=KEY, **options)

    return edit


def column(sheet, heading: str) -> int:
    return next(cell.column for cell in sheet[1] if cell.value == heading)


def set_cell(sheet: str, heading: str, value, row: int = 3, number_format: str | None = None):
    def change(book):
        cell = book[sheet].cell(row, column(book[sheet], heading))
        cell.value = value
        if number_format:
            cell.number_format = number_format

    return change


@pytest.mark.parametrize(
    ("change", "check_name", "place", "words"),
    [
        (set_cell("Visits", "Viable %", "=80+7"), "formula_without_value", "H3", "=80+7"),
        (set_cell("Visits", "Patient number", "=1+1", row=9), "formula_without_value", "A9", "=1+1"),
        (set_cell("Visits", "Viable %", "#N/A"), "spreadsheet_error", "H3", "#N/A"),
        (set_cell("Visits", "Viable %", 0.87, number_format="0%"), "percentage_format", "H3", "87 %"),
        (set_cell("Visits", "Viable %", "eighty"), "not_a_number", "H3", "'eighty'"),
        (set_cell("Visits", "Visit date", 45428, number_format="General"), "date_as_number", "D3", "2024-05-16"),
        (set_cell("Visits", "Visit date", "26/05/2024"), "text_date", "D3", "2024-05-26"),
        (set_cell("Visits", "Visit date", dt.date(2024, 5, 6)), "day_out_of_range", "D3", "10 days before surgery"),
        (set_cell("Visits", "Contact", "clinik"), "unknown_word", "E3", "Did you mean clinic"),
        (set_cell("Animals", "Patient number", None), "must_not_be_blank", "A3", "Patient number is blank"),
        (set_cell("Animals", "Species", None), "must_not_be_blank", "B3", "Species is blank"),
        (set_cell("Visits", "Viable %", "Viable %", row=1), None, None, None),
        (set_cell("Visits", "Lost %", "Viable %", row=1), "heading_twice", "I1", "more than one column"),
        (set_cell("Visits", "Lost %", "Los %", row=1), "heading_unknown", "I1", "Rename it if it is Lost %"),
        (set_cell("Animals", "Species", "Kind", row=1), "column_missing", "", "no column 'Species'"),
        (set_cell("Animals", "Sex", "Owner's surname", row=1), "identifying_heading", "D1", "Delete the whole column"),
        (set_cell("Animals", "Sex", "Pet name", row=1), "identifying_heading", "D1", "Delete the whole column"),
        (lambda book: book["Visits"].merge_cells("A1:B1"), "merged_cells", "A1", "A1:B1 are merged"),
        (lambda book: book["Visits"].merge_cells("E3:E4"), "merged_cells", "E3", "E3:E4 are merged"),
        (lambda book: setattr(book["Visits"], "title", "Visit list"), "sheet_name", "", "Rename it if it is Visits"),
        (set_cell("Animals", "Age years", 30), "out_of_range", "C3", "30 is outside 0.1 to 25"),
        (set_cell("Reconstructions", "Operation number", 21), "not_an_ordinal", "C3", "up to 20"),
        (lambda book: book["Visits"].merge_cells("E4:F4"), "merged_cells", "E4", "E4:F4 are merged"),
        (lambda book: book["Visits"].merge_cells("E6:F6"), None, None, None),
        (lambda book: book.remove(book["Complications"]), "sheet_missing", "", "no sheet called Complications"),
        (lambda book: book["Scores"].delete_rows(1, 9), "sheet_missing", "", "no sheet called Scores"),
        (lambda book: book["Exits"].delete_rows(1, 9), "no_headings", "", "Put the headings of the template in row 1"),
        (lambda book: setattr(book.copy_worksheet(book["Exits"]), "title", "exits "), "sheet_twice", "", "several"),
    ],
)  # fmt: skip
def test_what_people_do_to_a_sheet(edited, monkeypatch, change, check_name, place, words):
    monkeypatch.setattr(checks, "run", lambda *_: ())  # rules across rows have tests of their own, and take longest
    faults = edited(change).faults
    if check_name is None:
        assert faults == ()
        return
    (fault,) = [fault for fault in faults if fault.check == check_name]
    assert fault.cell == place
    assert words in str(fault)


@pytest.mark.parametrize(
    ("sheet", "severity"), [("Visits", "error"), ("Exits", "error"), ("Donor sites", "warning"), ("Scores", "warning")]
)
def test_a_sheet_that_is_missing_keeps_the_file_out_unless_practices_may_lack_it(edited, sheet, severity):
    faults = edited(lambda book: book.remove(book[sheet])).faults
    assert [(fault.sheet, fault.severity) for fault in faults if fault.check == "sheet_missing"] == [(sheet, severity)]


@pytest.mark.parametrize(
    ("sheet", "heading", "is_refused"),
    [
        ("Animals", "Species", True),
        ("Visits", "Wound letter", True),
        ("Scores", "Is repeat", True),
        ("Visits", "Contact", False),
        ("Scores", "Rater code", False),
        ("Animals", "Sex", False),
    ],
)
def test_what_tells_rows_apart_may_not_be_absent_unless_it_was_never_asked(edited, sheet, heading, is_refused):
    faults = edited(set_cell(sheet, heading, "not recorded")).faults
    assert ("key_is_absent" in {fault.check for fault in faults}) == is_refused


def test_a_text_in_a_number_column_hides_no_other_fault(edited):
    def change(book):
        for row, value in ((3, "lots"), (4, 140)):
            set_cell("Visits", "Viable %", value, row=row)(book)
        set_cell("Visits", "Open area cm2", -3, row=4)(book)

    faults = edited(change).errors
    assert {(fault.check, fault.cell) for fault in faults} == {
        ("not_a_number", "H3"), ("out_of_range", "H4"), ("out_of_range", "M4")}  # fmt: skip


def test_day_and_month_turned_by_the_spreadsheet(edited):
    def change(book):
        sheet = book["Visits"]
        for row, value in enumerate(
            (dt.date(2024, 6, 5), dt.date(2024, 7, 5), dt.date(2024, 8, 5), "25/06/2024"), start=4
        ):
            for cell in sheet[4]:
                sheet.cell(row, cell.column, cell.value)
            set_cell("Visits", "Visit date", value, row=row)(book)
        set_cell("Visits", "Visit date", dt.date(2024, 6, 1))(book)

    assert "day_and_month" in found(edited(change, dates="day-first"))


def test_zeros_that_the_format_shows_belong_to_the_number(edited):
    def change(book):
        for sheet in book.worksheets[1:9]:
            for row in range(3, sheet.max_row + 1):
                if sheet.cell(row, 1).value:
                    sheet.cell(row, 1, 123).number_format = "00000"

    assert edited(change).links[0][1] == "00123"


def test_title_above_the_headings_and_columns_in_another_order(edited, tmp_path):
    def change(book):
        sheet = book["Animals"]
        sheet.move_range("A1:C3", rows=0, cols=20)
        sheet.insert_rows(1)
        sheet["A1"] = "Our animals"

    assert edited(change).faults == ()


def test_a_later_column_may_be_missing_and_an_unknown_one_is_told(edited):
    def change(book):
        sheet = book["Visits"]
        for heading in ("Exudate", "Photo view"):
            sheet.cell(1, column(sheet, heading)).value = None
        sheet.cell(1, column(sheet, "Collar"), "Weather")

    intake = edited(change)
    assert [(fault.check, fault.severity) for fault in intake.faults] == [("heading_unknown", "warning")]
    assert intake.unread == ("Visits: Weather",)
    assert set(intake.tables) == {table.name for table in TABLES}


def test_blank_core_cells_give_one_warning_a_column(tmp_path):
    rows = case()
    for visit in rows["visits"]:
        visit["bandage_changed"] = None
    rows["reconstructions"][0]["recipient_bed"] = "not recorded"
    (fault,) = check(rows, tmp_path).faults
    assert (fault.check, fault.severity, fault.cell) == ("blank", "warning", "F3")
    assert "2 of 2 rows" in fault.sentence


@pytest.fixture(scope="module")
def fingerprint(tmp_path_factory):
    return check(case(), tmp_path_factory.mktemp("clean")).fingerprint


def as_csv(folder, rows, *, delimiter=",", encoding="utf-8", dates="%Y-%m-%d", decimal="."):
    for table in TABLES:
        with (folder / f"{table.title.lower()}.csv").open("w", newline="", encoding=encoding) as file:
            writer = csv.writer(file, delimiter=delimiter)
            writer.writerow([field.heading for field in in_order(table)])
            for row in rows[table.name]:
                writer.writerow([written(row.get(field.name), dates, decimal) for field in in_order(table)])


def written(value, dates, decimal):
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.date):
        return value.strftime(dates)
    if isinstance(value, list):
        return "|".join(value)
    return str(value).replace(".", decimal) if isinstance(value, float) else value


@pytest.mark.parametrize(
    ("how", "options"),
    [
        ({}, {}),
        ({"encoding": "utf-8-sig"}, {}),
        ({"delimiter": ";", "decimal": ","}, {}),
        ({"dates": "%d/%m/%Y"}, {"dates": "day-first"}),
        ({"dates": "%m.%d.%Y"}, {"dates": "month-first"}),
    ],
)
def test_csv_says_the_same_as_the_workbook(how, options, fingerprint, tmp_path):
    as_csv(tmp_path, case(), **how)
    from_csv = check_workbook(tmp_path, key=KEY, **options)
    assert from_csv.faults == ()
    assert from_csv.fingerprint == fingerprint


def test_csv_that_cannot_be_read(tmp_path):
    as_csv(tmp_path, case(), encoding="utf-16")
    with pytest.raises(WorkbookError, match="CSV UTF-8"):
        check_workbook(tmp_path, key=KEY)
    as_csv(tmp_path, case())
    (tmp_path / "visits.csv").write_text('Patient number,Visit date\n"00123,2024-05-16\n', encoding="utf-8")
    with pytest.raises(WorkbookError, match="mend the quotation marks"):
        check_workbook(tmp_path, key=KEY)


def test_text_dates_of_a_csv_are_refused_until_their_order_is_said(tmp_path):
    as_csv(tmp_path, case(), dates="%d/%m/%Y")
    assert {fault.check for fault in check_workbook(tmp_path, key=KEY).errors} >= {"text_date"}


def test_swapped_day_is_offered(tmp_path):
    rows = case()
    rows["reconstructions"][0]["surgery_date"] = dt.date(2024, 5, 2)
    rows["visits"][0]["visit_date"] = dt.date(2024, 3, 5)
    (fault,) = [
        fault for fault in check(rows, tmp_path).errors if fault.check == "day_out_of_range" and fault.sheet == "Visits"
    ]
    assert "swapped it would be 2024-05-03" in fault.remedy
