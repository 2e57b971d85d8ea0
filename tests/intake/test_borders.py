"""At the border of each rule of the intake: the last value that passes, and the first that does not."""

import csv
import datetime as dt

import openpyxl
import pytest
from one_animal import KEY, case, check, day, found, together
from test_cells import field
from test_reading import as_csv, column

from audit.dictionary import Field
from audit.errors import WorkbookError
from audit.intake.cells import reader
from audit.intake.check_workbook import check_workbook
from audit.intake.codebook import field_rows
from audit.intake.identity import pseudonym
from audit.intake.marked import write_marked
from audit.intake.template import write_template


def problems(place: str, raw: object, **options) -> list[str]:
    return [problem.check for problem in reader(field(place), **options)(raw).problems]


@pytest.mark.parametrize(
    ("place", "passes", "fails"),
    [
        ("visits.viable_pct", 0, -0.5),
        ("visits.viable_pct", 100, 100.5),
        ("visits.visit_date", dt.date(1990, 1, 1), dt.date(1989, 12, 31)),
        ("visits.visit_date", dt.date(2099, 12, 31), dt.date(2100, 1, 1)),
        ("reconstructions.operation_number", 1, 0),
        ("reconstructions.operation_number", 20, 21),
        ("animals.patient_number", "x" * 40, "x" * 41),
        ("visits.assessor_code", "N" * 40, "N" * 41),
        ("wounds.wound_letter", "Z", "AA"),
    ],
)
def test_ends_of_a_range_are_in_it(place, passes, fails):
    assert problems(place, passes) == []
    assert len(problems(place, fails)) == 1


def test_ends_of_what_is_usual_are_usual():
    read = reader(Field("age", "age", "number", "", low=0, high=25, warn=(1, 18)))
    assert [len(read(value).problems) for value in (0.9, 1, 18, 18.1)] == [1, 0, 0, 1]


@pytest.mark.parametrize(
    ("serial", "meant"), [(32873, None), (32874, "1990-01-01"), (73050, "2099-12-31"), (73051, None)]
)
def test_a_number_for_a_date_is_explained_where_it_may_be_one(serial, meant):
    (problem,) = reader(field("visits.visit_date"))(serial).problems
    assert problem.remedy == (
        f"Format the cell as a date (it would be {meant})" if meant else "Give the date as yyyy-mm-dd"
    )


def test_a_date_that_no_order_makes_one_is_offered_no_other():
    for order, raw in (("day-first", "32/13/2024"), ("month-first", "13/32/2024")):
        (problem,) = reader(field("visits.visit_date"), dates=order)(raw).problems
        assert (problem.check, problem.remedy) == ("not_a_date", "Give it as yyyy-mm-dd")
    assert problems("visits.visit_date", "32/13/2024") == ["not_a_date"]


def test_three_digits_after_a_mark_may_be_thousands_only_with_decimal_commas():
    assert reader(field("visits.open_area_cm2"))("1.234").value == 1.234
    assert reader(field("visits.open_area_cm2"), comma=True)("1.23").value == 1.23
    assert problems("visits.open_area_cm2", "1.234", comma=True) == ["not_a_number"]
    assert problems("visits.open_area_cm2", float("inf")) == problems("visits.open_area_cm2", 1e15) == ["not_a_number"]


def with_title_rows(tmp_path, rows: int):
    path = tmp_path / "book.xlsx"
    write_template(path, case())
    book = openpyxl.load_workbook(path)
    book["Animals"].insert_rows(1, rows)
    for row in range(1, rows + 1):
        book["Animals"].cell(row, 1, "Our animals")
    book.save(path)
    return check_workbook(path, key=KEY)


def test_headings_are_looked_for_in_the_first_ten_rows(tmp_path):
    assert found(with_title_rows(tmp_path, 9)) == []
    assert "no_headings" in found(with_title_rows(tmp_path, 10))


@pytest.mark.parametrize(("area", "told"), [("A1:B1", False), ("A2:B2", True), ("A4:B4", True), ("A6:B6", False)])
def test_merged_cells_matter_from_the_headings_to_the_last_record(tmp_path, area, told):
    path = tmp_path / "book.xlsx"
    write_template(path, case())
    book = openpyxl.load_workbook(path)
    sheet = book["Visits"]
    sheet.insert_rows(1)
    sheet["A1"] = "Our visits"  # headings in row 2, the example in row 3, records in rows 4 and 5
    sheet.merge_cells(area)
    book.save(path)
    merged = [fault for fault in check_workbook(path, key=KEY).faults if fault.check == "merged_cells"]
    assert [fault.cell for fault in merged] == ([area.split(":")[0]] if told else [])


def test_running_order_begins_anew_each_month_and_follows_the_days(tmp_path):
    cases = {name: case(name) for name in ("one", "two", "six")}
    for name, offset in (("one", 3), ("two", 0), ("six", 20)):  # 19 May, 16 May, 5 June
        for rows in cases[name].values():
            for row in rows:
                for key, value in row.items():
                    if isinstance(value, dt.date):
                        row[key] = value + dt.timedelta(days=offset)
    operations = check(together(*cases.values()), tmp_path).tables["reconstructions"].set_index("animal")
    order = {name: operations.loc[pseudonym(KEY, "animal", name), "running_order"] for name in cases}
    assert order == {"one": 2, "two": 1, "six": 1}


def test_a_wound_is_dated_from_the_first_of_its_operations_in_any_order_of_rows(tmp_path):
    rows = case()
    again = rows["reconstructions"][0] | {"operation_number": 2, "surgery_date": day(12)}
    rows["reconstructions"].insert(0, again)
    rows["exits"][0] |= {"exit_reason": "re_grafted", "exit_date": day(12), "last_seen_date": day(12)}
    rows["exits"].append(rows["exits"][0] | {"operation_number": 2, "exit_reason": "lost_before_healing"})
    tables = check(rows, tmp_path).tables
    assert list(tables["wounds"]["wound_day"]) == [-14]
    assert list(tables["reconstructions"]["clock_day"]) == [0, 12]


def test_a_swap_of_day_and_month_is_offered_up_to_the_twelfth_only(tmp_path):
    def remedy(surgery, visit):
        rows = case()
        rows["reconstructions"][0]["surgery_date"] = surgery
        rows["visits"][0]["visit_date"] = visit
        faults = check(rows, tmp_path).errors
        return next(f.remedy for f in faults if f.check == "day_out_of_range" and f.column == "Visit date")

    assert remedy(dt.date(2024, 12, 3), dt.date(2024, 4, 12)) == (
        "Check both dates; with day and month swapped it would be 2024-12-04, 1 days away"
    )
    assert remedy(dt.date(2024, 12, 3), dt.date(2024, 4, 13)) == "Check both dates"


def test_example_row_is_no_record_however_it_is_written(tmp_path):
    path = tmp_path / "book.xlsx"
    write_template(path, case())
    book = openpyxl.load_workbook(path)
    for sheet in book.worksheets[1:9]:
        sheet["A2"] = f" {sheet['A2'].value.lower()} "
    book.save(path)
    assert check_workbook(path, key=KEY).faults == ()


def test_two_real_dates_are_too_few_to_suspect_and_the_thirteenth_clears_them(tmp_path):
    def suspected(*dates):
        rows = case()
        visit = rows["visits"][0]
        rows["visits"] = [visit | {"visit_date": each} for each in dates] + [
            visit | {"visit_date": dt.date(2024, 6, 25)}
        ]
        path = tmp_path / "book.xlsx"
        write_template(path, rows)
        book = openpyxl.load_workbook(path)
        sheet = book["Visits"]
        last = sheet.cell(2 + len(rows["visits"]), column(sheet, "Visit date"))
        last.value, last.number_format = "25/06/2024", "@"
        book.save(path)
        return "day_and_month" in found(check_workbook(path, key=KEY, dates="day-first"))

    june = [dt.date(2024, 6, number) for number in (5, 6, 12, 13)]
    assert suspected(*june[:3])
    assert not suspected(*june[:2])
    assert not suspected(*june[:2], june[3])


def test_a_sheet_of_a_csv_folder_keeps_the_first_31_letters_of_its_name(tmp_path):
    as_csv(tmp_path, case())
    name = "remarks of the year with a long name"
    with (tmp_path / f"{name}.csv").open("w", newline="") as file:
        csv.writer(file).writerow(["nothing"])
    write_marked(tmp_path, (), tmp_path / "marked.xlsx")
    assert name[:31] in openpyxl.load_workbook(tmp_path / "marked.xlsx").sheetnames


def test_what_a_yes_or_a_no_means_to_a_number_column_is_not_guessed():
    assert problems("visits.viable_pct", True) == problems("visits.viable_pct", False) == ["not_a_number"]


def test_errors_and_warnings_are_told_apart(tmp_path):
    rows = case()
    rows["visits"][0] |= {"viable_pct": 140, "bandage_changed": None}
    intake = check(rows, tmp_path)
    assert {fault.check for fault in intake.warnings} == {"blank"}
    assert {fault.check for fault in intake.errors} == {"out_of_range"}


def test_a_blank_workbook_is_said_to_hold_nothing_only_where_nothing_else_is_wrong(tmp_path):
    assert found(check({}, tmp_path)) == ["no_rows"]
    path = tmp_path / "book.xlsx"
    book = openpyxl.load_workbook(path)
    book["Animals"].cell(1, column(book["Animals"], "Species"), "Kind")
    book.save(path)
    assert "no_rows" not in found(check_workbook(path, key=KEY))


def test_a_quoted_value_is_cut_to_forty_letters():
    (kept,) = reader(field("animals.species"))("k" * 40).problems
    (cut,) = reader(field("animals.species"))("k" * 41).problems
    assert f"'{'k' * 40}'" in kept.sentence
    assert f"'{'k' * 39}…'" in cut.sentence


def test_only_csv_files_of_a_folder_are_sheets(tmp_path):
    as_csv(tmp_path, case())
    (tmp_path / "notes.txt").write_text("\0 no sheet", "utf-8")
    (tmp_path / "exits.csv").rename(tmp_path / "exits.CSV")
    assert check_workbook(tmp_path, key=KEY).faults == ()


def test_later_columns_may_be_missing_for_every_sheet_and_blank_ones_are_named_at_their_first(tmp_path):
    rows = case()
    rows["visits"][0]["contact"] = None
    rows["visits"][1]["contact"] = None
    path = tmp_path / "book.xlsx"
    write_template(path, rows)
    book = openpyxl.load_workbook(path)
    book["Visits"].delete_cols(column(book["Visits"], "Collar"))
    book.save(path)
    (fault,) = [fault for fault in check_workbook(path, key=KEY).faults if fault.check == "blank"]
    assert (fault.row, fault.severity) == (3, "warning")
    assert "in 2 of 2 rows, first in row 3" in fault.sentence


def test_a_number_of_the_practice_may_look_like_a_telephone_but_not_in_other_columns(tmp_path):
    rows = case("01632 960 983")
    rows["reconstructions"][0]["surgeon_code"] = "01632 960 984"
    assert "telephone" not in found(check(rows, tmp_path))
    rows["animals"][0]["breed"] = "01632 960 985"
    assert "telephone" in found(check(rows, tmp_path))


@pytest.mark.parametrize(("sheet", "severity"), [("Donor sites", "warning"), ("Scores", "warning"), ("Exits", "error")])
def test_a_missing_sheet_is_grave_unless_there_may_be_none(tmp_path, sheet, severity):
    path = tmp_path / "book.xlsx"
    write_template(path, case())
    book = openpyxl.load_workbook(path)
    book.remove(book[sheet])
    book.save(path)
    assert [f.severity for f in check_workbook(path, key=KEY).faults if f.check == "sheet_missing"] == [severity]


def test_rows_without_a_value_stand_before_those_with_one_in_the_order_of_their_keys(tmp_path):
    rows = together(case("one"), case("two"), case("six"))
    frame = check(rows, tmp_path).tables["visits"]
    keys = list(zip(frame["animal"], frame["visit_day"], strict=True))
    assert keys == sorted(keys)
    assert len(set(keys)) == 6


def test_the_codebook_says_what_each_field_becomes_in_the_store():
    becomes = {row["heading"]: row["becomes"] for row in field_rows()}
    assert becomes["Patient number"] == "code"
    assert becomes["Visit date"] == "day from surgery"
    assert becomes["Viable %"] == ""


def test_underscores_of_codes_are_read_as_spaces_and_those_of_the_practice_stay(tmp_path):
    rows = case("R_7")
    rows["reconstructions"][0] |= {"surgeon_code": "S_one", "recipient_bed": "granulating"}
    path = tmp_path / "book.xlsx"
    write_template(path, rows)
    book = openpyxl.load_workbook(path)
    cells = {cell.value for cell in book["Reconstructions"][3]}
    assert {"R_7", "S_one", "mesh full"} <= cells


@pytest.mark.parametrize(("row", "passes"), [(100_000, True), (100_001, False)])
def test_a_hundred_thousand_rows_are_read(tmp_path, row, passes):
    path = tmp_path / "book.xlsx"
    write_template(path, case())
    book = openpyxl.load_workbook(path)
    book["Visits"].cell(row, 80, "x")
    book.save(path)
    if passes:
        assert not [fault for fault in check_workbook(path, key=KEY).errors if fault.row == row]
    else:
        with pytest.raises(WorkbookError, match="far beyond any record"):
            check_workbook(path, key=KEY)


def test_a_fault_of_a_whole_sheet_is_placed_on_that_sheet(tmp_path):
    cases = [case(f"K{number}") for number in range(5)]
    for each in cases:
        for visit in each["visits"]:
            visit |= {"viable_pct": 90, "lost_pct": 10, "uncertain_pct": None}
    whole = [fault for fault in check(together(*cases), tmp_path).faults if fault.check == "round_figures"]
    assert [(fault.sheet, fault.row) for fault in whole] == [("Visits", None)]
