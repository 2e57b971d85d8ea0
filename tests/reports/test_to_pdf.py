"""The PDFs: tagged for readers by ear, fonts inside, the same bytes each time, and data that stay data."""

import io
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_manuscript import sample_manuscript
from invented_report import sample_report, step_figure
from pypdf import PdfReader

from reports.document import Caution, Column, Ledger, Report, Section, Table
from reports.drawing.draw import draw
from reports.formats.to_pdf import manuscript_pdf, report_pdf
from reports.prose import Ask, Cite, Fact, Manuscript, Paragraph, Reference

HOSTILE = (
    "#set text(red)",
    "*bold* _it_ `raw`",
    "$x^2$ @ref <label>",
    "= Head\n- item // note",
    '\\u{41} #"',
    "</svg>",
)


@pytest.fixture(scope="module")
def drawings():
    return draw((*sample_report().figures, *sample_manuscript().figures))


@pytest.fixture(scope="module")
def report(drawings):
    return read(report_pdf(sample_report(), drawings))


@pytest.fixture(scope="module")
def manuscript(drawings):
    return read(manuscript_pdf(sample_manuscript(), drawings))


def read(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def elements(reader: PdfReader) -> Iterator[dict]:
    """The elements of the structure tree in reading order."""

    def walk(node) -> Iterator[dict]:
        node = node.get_object()
        if isinstance(node, list):
            for part in node:
                yield from walk(part)
        elif isinstance(node, dict):
            if "/S" in node:
                yield node
            if "/K" in node:
                yield from walk(node["/K"])

    yield from walk(reader.trailer["/Root"]["/StructTreeRoot"])


def kinds(reader: PdfReader, *asked: str) -> list[str]:
    return [element["/S"][1:] for element in elements(reader) if element["/S"][1:] in asked]


def words(reader: PdfReader) -> str:
    """All pages' text; a no-break space and a line's end count as a space."""
    return " ".join("\n".join(page.extract_text() for page in reader.pages).split())


def fonts(reader: PdfReader) -> list[dict]:
    """The fonts of all pages and of the drawings in them."""

    def within(resources: dict) -> Iterator[dict]:
        yield from (font.get_object() for font in resources.get("/Font", {}).values())
        for form in resources.get("/XObject", {}).values():
            yield from within(form.get_object().get("/Resources", {}))

    return [font for page in reader.pages for font in within(page["/Resources"])]


@pytest.mark.parametrize("made", ["report", "manuscript"])
def test_pdf_is_tagged_and_declares_pdf_ua(made, request):
    reader = request.getfixturevalue(made)
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    assert "/CreationDate" not in reader.metadata


@pytest.mark.parametrize("made", ["report", "manuscript"])
def test_every_font_is_embedded_and_none_is_type_3(made, request):
    found = fonts(request.getfixturevalue(made))
    assert {font["/Subtype"] for font in found} == {"/Type0"}
    names = {font["/BaseFont"].split("+")[1] for font in found}
    assert {"STIXGeneral-Regular", "DejaVuSans"} <= names
    for font in found:
        assert "/FontFile2" in font["/DescendantFonts"][0].get_object()["/FontDescriptor"]


def test_report_is_read_in_the_order_of_the_page(report):
    text = words(report)
    parts = (
        "Skin grafts and flaps: audit of an invented practice",
        "Not clinical advice.",
        "A rule of thumb is not a standard.",
        "13 of 18 free grafts took; 2 cannot be told.",
        "Of the free grafts, how many took",
        "Table 1. Take by species",
        "Fewer than 10 grafts: counts only.",
        "The codes of the cases behind these numbers stand in the HTML page of this report.",
        "is not a graft that failed",
        "Figure 1. Healing since surgery",
        "Figure 2. Healing since surgery",
        "Table 2. Flaps healed",
        "No rows",
        "Take: living graft of at least 75 %.",
        "version 1, frozen on 2 January 2023",
    )
    assert [text.find(part) for part in parts] == sorted(text.find(part) for part in parts)
    assert -1 not in [text.find(part) for part in parts]
    assert "a3f9c2e1b000-A1" not in text
    cautions = report.pages[0].extract_text()
    assert all(caution.head in cautions for caution in sample_report().cautions)


def test_report_has_headings_heads_of_tables_and_alternative_text(report):
    assert kinds(report, "Title", "Table", "Figure") == ["Title", "Table", "Figure", "Figure", "Table"]
    assert kinds(report, "THead", "TBody") == ["THead", "TBody"] * 2
    heads = [element["/A"] for element in elements(report) if element["/S"] == "/TH"]
    assert [about[0].get("/RowSpan", about[0].get("/ColSpan", 1)) for about in heads] == [2, 3, 2, 1, 1, 1, 1, 1, 1, 1]
    told = [element["/Alt"] for element in elements(report) if element["/S"] == "/Figure"]
    assert told == [figure.description for figure in sample_report().figures]
    assert [item["/Title"] for item in report.outline] == [
        "In short",
        "Take",
        "Healing",
        "Definitions",
        "Where this report comes from",
    ]


def test_manuscript_says_every_part(manuscript):
    text = words(manuscript)
    assert "[Author: names and addresses of the authors]" in text
    assert "Intervals are score intervals (Wilson 1927)." in text
    for fact in sample_manuscript().facts:
        assert fact.text in text
    assert text.count("Table 1") == 2
    assert kinds(manuscript, "Title", "H1", "H2") == ["Title", "H1", "H2", "H2", "H1", "H1", "H1"]
    assert kinds(manuscript, "LBody") == ["LBody"] * 2


def test_labels_lead_to_their_tables_and_figures(manuscript):
    links = [note.get_object() for page in manuscript.pages for note in page.get("/Annots", [])]
    assert kinds(manuscript, "Link") == ["Link"] * len(links) == ["Link"] * 3
    names = [link.get("/Dest") or link["/A"]["/D"] for link in links]
    assert len(set(map(str, names))) == 3


def test_manuscript_numbers_its_lines_through_all_pages_at_double_distance(drawings):
    paper = Manuscript("Lines", (Paragraph(("Grafts were placed on granulating wounds. " * 80,)),))
    reader = read(manuscript_pdf(paper, drawings))
    pages: list[list[tuple[int, float]]] = []
    for page in reader.pages:
        pages.append(found := [])

        def see(text, matrix, _, font, size, found=found):
            if text.strip().isdigit() and matrix[4] < 72:
                found.append((int(text), matrix[5]))

        page.extract_text(visitor_text=see)
    numbers = [number for found in pages for number, _ in found]
    assert len(pages) > 1
    assert numbers == list(range(1, len(numbers) + 1))
    # 2.3 times the 12 points of the type, as a word processor's double spacing.
    heights = [height for _, height in pages[0]]
    assert [first - second for first, second in pairwise(heights)] == pytest.approx(
        [27.6] * (len(heights) - 1), abs=0.001
    )


@pytest.mark.parametrize(
    ("spelling", "page", "language"), [("british", (595, 842), "en-GB"), ("american", (612, 792), "en-US")]
)
def test_page_and_language_follow_the_spelling(spelling, page, language, drawings):
    reader = read(manuscript_pdf(sample_manuscript(spelling), drawings))
    assert tuple(round(float(side)) for side in reader.pages[0].mediabox[2:]) == page
    assert reader.trailer["/Root"]["/Lang"] == language


def test_same_input_same_bytes(drawings):
    assert report_pdf(sample_report(), drawings) == report_pdf(sample_report(), drawings)
    assert manuscript_pdf(sample_manuscript(), drawings) == manuscript_pdf(sample_manuscript(), drawings)


def test_a_missing_drawing_is_told(drawings):
    with pytest.raises(KeyError, match="healing-curve"):
        report_pdf(sample_report(), {})


def hostile_report(text: str) -> Report:
    """The text in every place that holds text."""
    table = Table("t", text, (Column(text, text), Column("b")), ((text, text),), (text,), (("", 1), (text, 1)))
    section = Section(
        id="s",
        title=text,
        question=text,
        sentences=(text, text),
        tables=(table,),
        ledgers=(Ledger(text, ()),),
        remarks=(text,),
    )
    return Report(
        title=text,
        subtitle=text,
        cautions=(Caution(text, text),),
        headlines=(text,),
        sections=(section,),
        definitions=(),
        provenance=((text, text),),
    )


@pytest.mark.parametrize("text", HOSTILE)
def test_markup_stays_text_wherever_it_stands(text):
    once = " ".join(text.split())
    # Nineteen places; the foot of the page and the contents say two of them again.
    assert words(read(report_pdf(hostile_report(text), {}))).count(once) >= 19
    paper = Manuscript(
        text, (Paragraph((text, Fact("f", text, ""), Ask(text), Cite("c"))),), (Reference("c", text, ""),)
    )
    assert words(read(manuscript_pdf(paper, {}))).count(once) == 4


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=40))
def test_any_text_makes_a_pdf(text):
    assert report_pdf(hostile_report(text), {}).startswith(b"%PDF")


def report_of(columns: int, rows: int) -> Report:
    """A report of one table with the same words in every cell."""
    heads = tuple(Column(f"Head{number}") for number in range(columns))
    table = Table("t", "Many", heads, (("mesh granulating",) * columns,) * rows)
    return Report(
        title="Many",
        subtitle="",
        cautions=(),
        headlines=(),
        sections=(Section(id="s", title="Section", tables=(table,)),),
    )


def test_a_long_table_says_its_heads_on_each_page():
    pages = [page.extract_text() for page in read(report_pdf(report_of(3, 100), {})).pages]
    holding = [text.split() for text in pages if "granulating" in text]
    assert len(holding) > 1
    assert all(text.count("Head2") == 1 for text in holding)
    assert sum(text.count("granulating") for text in holding) == 300


@pytest.mark.parametrize(("columns", "turned"), [(6, False), (9, False), (10, True), (30, True)])
def test_a_wide_table_stays_on_its_page(columns, turned):
    reader = read(report_pdf(report_of(columns, 2), {}))
    page = next(page for page in reader.pages if "Table 1" in page.extract_text())
    assert (page.mediabox.width > page.mediabox.height) is turned
    (table,) = (element for element in elements(reader) if element["/S"] == "/Table")
    box = next(about["/BBox"] for about in table["/A"] if "/BBox" in about)
    assert box[0] >= 59
    assert box[2] <= page.mediabox.width - 59
    # Thirty columns are too many for whole words.
    assert page.extract_text().split().count("granulating") == (2 * columns if columns < 30 else 0)


def test_a_figure_taller_than_a_page_leaves_room_for_its_caption(drawings):
    tall = replace(step_figure("healing-curve"), height=14, caption="Invented. " * 60)
    reader = read(
        report_pdf(
            Report(
                title="Tall",
                subtitle="",
                cautions=(),
                headlines=(),
                sections=(Section(id="s", title="Tall", figures=(tall,)),),
            ),
            drawings,
        )
    )
    (element,) = (element for element in elements(reader) if element["/S"] == "/Figure")
    box = next(about["/BBox"] for about in element["/A"] if "/BBox" in about)
    bottom = []
    reader.pages[-1].extract_text(
        visitor_text=lambda text, matrix, *_: bottom.append(matrix[5]) if "Invented" in text else None
    )
    assert box[1] - 6 > max(bottom)
    assert min(bottom) > 59
