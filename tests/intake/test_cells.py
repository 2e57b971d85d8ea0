"""Any cell whatsoever gives a value, an absence or a fault; the words are offered and never chosen."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audit.dictionary import Field, fields, table
from audit.intake.cells import reader
from audit.intake.reading import Odd

FIELDS = [field for _, field in fields()]
ANYTHING = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(), st.dates(), st.datetimes(), st.times(),
    st.timedeltas(), st.builds(Odd, st.text(), st.sampled_from(["error", "formula", "percentage"])),
    st.sampled_from([word for field in FIELDS for word in field.words]),
    st.from_regex(r"[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{1,4}", fullmatch=True),
    st.from_regex(r"[0-9]+[.,][0-9]+", fullmatch=True),
)  # fmt: skip
KINDS = {
    "key": (str, int), "token": (str,), "code": (str,), "codes": (tuple,), "yes_no": (bool,), "whole": (int,),
    "number": (float,), "date": (dt.date,),
}  # fmt: skip


def field(place: str) -> Field:
    sheet, name = place.split(".")
    return table(sheet)[name]


@given(
    st.sampled_from(FIELDS),
    ANYTHING,
    st.sampled_from(["iso", "day-first", "month-first"]),
    st.booleans(),
    st.booleans(),
)
def test_any_cell_gives_a_value_an_absence_or_a_fault(field, raw, dates, comma, may_be_absent):
    reading = reader(field, dates=dates, comma=comma, may_be_absent=may_be_absent)(raw)
    blank = raw is None or (isinstance(raw, str) and not raw.strip())
    errors = [problem for problem in reading.problems if problem.severity == "error"]
    assert sum([blank, reading.value is not None, bool(reading.absence), bool(errors)]) == 1
    if reading.value is not None:
        assert isinstance(reading.value, KINDS[field.kind])
        if field.kind in ("whole", "number"):
            assert field.low <= reading.value <= field.high
        if field.kind == "code":
            assert reading.value in field.words
        if field.kind == "codes":
            assert reading.value
            assert set(reading.value) <= set(field.words)
    assert all(problem.sentence and problem.remedy and "\n" not in problem.sentence for problem in reading.problems)


@pytest.mark.parametrize(
    ("place", "raw", "value"),
    [
        ("animals.species", "  DOG ", "dog"),
        ("wounds.cause", "Degloving-or shear", "degloving_or_shear"),
        ("visits.contact", "By telephone", "phone"),
        ("scores.scale", "hair v1", "hair-v1"),
        ("reconstructions.fixation", "Bolster; suture;suture", ("suture", "bolster")),
        ("visits.graft_visible", True, True),
        ("visits.graft_visible", "No", False),
        ("animals.patient_number", 12345.0, "12345"),
        ("animals.patient_number", "12345.0", "12345"),
        ("animals.patient_number", "00123", "00123"),
        ("wounds.wound_letter", "b", "B"),
        ("reconstructions.operation_number", 2.0, 2),
        ("reconstructions.asa", 3.0, 3),
        ("visits.viable_pct", " 87.5 ", 87.5),
        ("visits.visit_date", dt.datetime(2024, 5, 6), dt.date(2024, 5, 6)),
        ("visits.visit_date", "2024-05-06", dt.date(2024, 5, 6)),
        ("visits.visit_date", "2024-05-06 00:00:00", dt.date(2024, 5, 6)),
    ],
)
def test_what_is_clear_is_read(place, raw, value):
    assert reader(field(place))(raw).value == value


@pytest.mark.parametrize(
    ("raw", "reason"),
    [("not recorded", "not_recorded"), ("Not-Assessable", "not_assessable"), ("does not apply", "not_applicable"),
     ("REFUSED", "refused")],
)  # fmt: skip
def test_absence_words_stand_in_any_cell_but_a_key(raw, reason):
    for place in ("visits.viable_pct", "visits.epithelialised", "visits.next_planned_date", "visits.colour"):
        assert reader(field(place))(raw).absence == reason
    (problem,) = reader(field("animals.patient_number"), may_be_absent=False)(raw).problems
    assert problem.check == "key_is_absent"


@pytest.mark.parametrize(
    ("place", "raw", "check", "words"),
    [
        ("animals.species", "dgo", "unknown_word", ["Did you mean dog?"]),
        ("reconstructions.done_method", "mesh", "unknown_word", ["mesh full or mesh split"]),
        ("exits.exit_evidence", "assumed", "unknown_word", ["'assumed'", "owner report"]),
        ("visits.viable_pct", "n/a", "not_a_number", ["not recorded, not applicable"]),
        ("visits.viable_pct", 140, "out_of_range", ["140 is outside 0 to 100 %"]),
        ("visits.open_area_cm2", -3, "out_of_range", ["-3"]),
        ("visits.viable_pct", "about 80", "not_a_number", ["'about 80'", "in %"]),
        ("visits.viable_pct", "87,5", "not_a_number", ["87.5"]),
        ("visits.viable_pct", Odd("80 %", "percentage"), "percentage_format", ["80 %", "plain number"]),
        ("visits.viable_pct", Odd("#N/A", "error"), "spreadsheet_error", ["#N/A"]),
        ("visits.viable_pct", Odd("=A1+1", "formula"), "formula_without_value", ["=A1+1"]),
        ("visits.viable_pct", dt.datetime(2024, 3, 4), "date_in_number", ["2024-03-04"]),
        ("reconstructions.asa", 2.5, "not_whole", ["2.5"]),
        ("visits.visit_date", 45418, "date_as_number", ["45418", "it would be 2024-05-06"]),
        ("visits.visit_date", dt.time(0, 0), "not_a_date", ["yyyy-mm-dd"]),
        ("visits.visit_date", "2024-02-31", "not_a_date", ["not a date of the calendar"]),
        ("visits.visit_date", "05/06/2024", "text_date", ["2024-06-05 or 2024-05-06"]),
        ("visits.visit_date", "25.06.2024", "text_date", ["2024-06-25"]),
        ("visits.visit_date", "5/6/24", "not_a_date", ["which part is the year"]),
        ("visits.visit_date", dt.date(1924, 5, 6), "date_out_of_range", ["Check the year"]),
        ("visits.colour", "none yet; pnk", "unknown_word", ["'none yet'"]),
        ("reconstructions.fixation", "none; suture", "none_among_words", ["none and something"]),
        ("reconstructions.fixation", "suture; refused", "absence_among_words", ["suture; refused"]),
        ("wounds.wound_letter", "left paw", "not_a_letter", ["'left paw'"]),
        ("animals.patient_number", "9.0E+14", "shortened_number", ["digits are lost"]),
        ("animals.patient_number", 12.5, "not_a_code", ["12.5"]),
        ("reconstructions.operation_number", 0, "not_an_ordinal", ["Count 1, 2, 3"]),
    ],
)  # fmt: skip
def test_what_is_unclear_is_told_and_not_mended(place, raw, check, words):
    reading = reader(field(place))(raw)
    assert reading.value is None
    assert reading.problems[0].check == check
    assert all(word in f"{reading.problems[0].sentence}. {reading.problems[0].remedy}" for word in words)


def test_unusual_is_a_warning_and_the_value_stays():
    reading = reader(Field("age", "age", "number", "", low=0, high=25, warn=(1, 18)))(20)
    assert (reading.value, [problem.severity for problem in reading.problems]) == (20, ["warning"])


def test_order_of_text_dates_is_the_callers_to_say():
    read = {order: reader(field("visits.visit_date"), dates=order) for order in ("day-first", "month-first")}
    assert read["day-first"]("05/06/2024").value == dt.date(2024, 6, 5)
    assert read["month-first"]("05/06/2024").value == dt.date(2024, 5, 6)
    (problem,) = read["month-first"]("25/06/2024").problems
    assert "swapped" in problem.remedy
    assert "2024-06-25" in problem.remedy


def test_decimal_comma_only_where_the_file_has_it():
    read = reader(field("visits.viable_pct"), comma=True)
    assert read("87,5").value == read("87.5").value == 87.5
    assert read("1.234").problems[0].check == "not_a_number"
