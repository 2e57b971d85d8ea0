"""A table reads the same in a page and in a spreadsheet, whatever its cells hold."""

import csv
import io
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.document import Column, Report, Section, Table
from reports.formats.csv_tables import harmless, to_csv, write_csv
from reports.formats.html_tables import table_fragment

COLUMNS = (Column("Species"), Column("Area", "cm²", "right"))


def table(*rows: tuple[str, str], **more) -> Table:
    return Table("areas", "Areas", COLUMNS, rows, **more)


def parsed(shown: Table) -> ElementTree.Element:
    return ElementTree.fromstring(table_fragment(shown, "Table 1"))


def test_every_cell_stands_in_its_place_and_stays_text():
    root = parsed(table(("Dogs & <script>", "12"), ("Cats", '"7"')))
    rows = [["".join(cell.itertext()) for cell in row] for row in root.iter("tr")]
    assert rows == [["Species", "Area (cm²)"], ["Dogs & <script>", "12"], ["Cats", '"7"']]


def test_heads_say_what_they_head():
    root = parsed(table(("Dogs", "12"), notes=("Wilson.",), spans=(("", 1), ("Measured", 1))))
    assert [(head.text, head.get("scope"), head.get("rowspan")) for head in root.iter("th")] == [
        ("Species", "col", "2"),
        ("Measured", "colgroup", None),
        ("Area ", "col", None),
        ("Dogs", "row", None),
    ]
    caption = root.find(".//caption")
    assert "".join(caption.itertext()) == "Table 1. Areas"
    assert root.find(".//*[@role='region']").get("aria-labelledby") == caption.get("id")
    assert root.find(".//li").text == "Wilson."


def test_table_without_rows_says_so():
    assert "".join(parsed(table()).find(".//tbody").itertext()).strip() == "No rows"


def test_csv_reads_back_with_accents_and_units(tmp_path):
    path = write_csv(table(("Hündin, klein", "1,204"), ('"x"\ny', "−3.5")), tmp_path)
    with path.open(encoding="utf-8-sig", newline="") as file:
        assert list(csv.reader(file)) == [["Species", "Area (cm²)"], ["Hündin, klein", "1,204"], ['"x"\ny', "-3.5"]]
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")


def test_csv_heads_carry_their_span():
    assert "Species,Measured: Area (cm²)" in to_csv(table(spans=(("", 1), ("Measured", 1)))).decode()


@pytest.mark.parametrize(
    "text", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "-", "-3 to 5", "+e5"]
)
def test_formulas_get_an_apostrophe(text):
    assert harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["-3", "-3.5 %", "+0.2", "1,204", "-1e-5", "12 of 16", "", "a=b"])
def test_numbers_and_plain_text_stay(text):
    assert harmless(text) == text


@given(st.text())
def test_no_cell_starts_a_formula(text):
    written = next(
        csv.reader(io.StringIO(to_csv(table((text, ""))).decode("utf-8-sig").split("\r\n", 1)[1], newline=""))
    )[0]
    if written.startswith(("=", "+", "-", "@", "\t", "\r")):
        float(written.replace(",", "").removesuffix("%"))


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"rows": (("Dogs",),)}, "row 1: 1 cells for 2 columns"),
        ({"rows": (), "spans": (("x", 3),)}, "spans cover other than its 2 columns"),
        ({"rows": (), "id": "two words"}, "'two words' is no identifier"),
    ],
)
def test_a_misfit_table_is_refused(more, fault):
    with pytest.raises(ValueError, match=fault):
        Table(**{"id": "areas", "title": "Areas", "columns": COLUMNS, **more})


def test_a_report_refuses_one_identifier_twice():
    section = Section(id="take", title="Take", tables=(table(),))
    with pytest.raises(ValueError, match="given twice in one report: areas"):
        Report(
            title="A",
            subtitle="b",
            cautions=(),
            headlines=(),
            sections=(section, Section(id="again", title="Again", tables=(table(),))),
        )
