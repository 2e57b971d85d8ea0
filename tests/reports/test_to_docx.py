"""The Word file of an invented manuscript: its structure, its numbers, and that text stays text."""

import io
import re
import zipfile
from dataclasses import replace

import docx
import pytest
from docx.oxml.ns import qn
from docx.shared import Inches
from invented_manuscript import picture, plain_table, sample_manuscript, sample_pictures, wide_table

from reports.document import Column, Table
from reports.prose import Fact, Heading, Manuscript, PageBreak, Paragraph
from reports.word.to_docx import to_docx


@pytest.fixture(scope="module")
def written() -> bytes:
    return to_docx(sample_manuscript(), sample_pictures())


@pytest.fixture
def document(written):
    return docx.Document(io.BytesIO(written))


def paragraphs(document) -> list[str]:
    """The whole text of each paragraph, marked blocks and fields included."""
    return ["".join(t.text or "" for t in p.iter(qn("w:t"))) for p in document.element.body.iter(qn("w:p"))]


def attribute(node, name: str) -> str:
    return node.get(qn(f"w:{name}"))


def test_captions_and_references_carry_the_labels(document):
    labels, texts = sample_manuscript().labels, paragraphs(document)
    for part in (*sample_manuscript().tables, *sample_manuscript().figures):
        assert sum(text.startswith(f"{labels[part.id]}. {part.title}") for text in texts) == 1
    assert (
        "13 of 18 grafts took (72 %, 95 % interval 49 to 88 %) to at least 75 % on day 10, as Table 1 shows." in texts
    )
    assert any("as Figure 1 and Table 2 show; the curve" in text for text in texts)
    # Each reference is a field that leads to the bookmark round the number it shows.
    codes = "".join(node.text for node in document.element.body.iter(qn("w:instrText")))
    assert re.findall("SEQ (Table|Figure)", codes) == ["Table", "Figure", "Table"]
    assert len(re.findall(r"REF \S+ \\h", codes)) == 3
    names = [attribute(node, "name") for node in document.element.body.iter(qn("w:bookmarkStart"))]
    assert len(names) == len(set(names))
    assert set(re.findall(r"REF (\S+)", codes)) <= set(names)


def test_every_fact_table_and_figure_stands_in_its_own_marked_block(document):
    manuscript = sample_manuscript()
    texts = {}
    for control in document.element.body.iter(qn("w:sdt")):
        key = attribute(next(control.iter(qn("w:tag"))), "val").split(":")[0]
        texts[key] = "".join(t.text or "" for t in control.iter(qn("w:t")))
        assert attribute(next(control.iter(qn("w:alias"))), "val") == re.sub("[.-]", " ", key)
        in_line = control.getparent().tag == qn("w:p")
        assert in_line == (key in {fact.id for fact in manuscript.facts})
    for fact in manuscript.facts:
        assert texts.pop(fact.id) == fact.text
    assert set(texts) == {"take-by-species", "case-by-case", "healing-curve"}


def test_word_takes_tags_of_64_characters_at_most():
    long = "take." + "very-" * 30
    facts = (Fact(f"{long}a", "1 graft", "x"), Fact(f"{long}b", "2 grafts", "x"))
    document = docx.Document(io.BytesIO(to_docx(Manuscript("T", (Paragraph(facts),)), {})))
    tags = {attribute(node, "val") for node in document.element.body.iter(qn("w:tag"))}
    assert len(tags) == 2
    assert max(map(len, tags)) <= 64
    assert max(len(attribute(node, "name")) for node in document.element.body.iter(qn("w:bookmarkStart"))) <= 40


@pytest.mark.parametrize(
    ("spelling", "size", "tongue"),
    [("british", ("11906", "16838"), "en-GB"), ("american", ("12240", "15840"), "en-US")],
)
def test_page_lines_and_language(spelling, size, tongue):
    document = docx.Document(io.BytesIO(to_docx(sample_manuscript(spelling), sample_pictures())))
    last = document.element.body.sectPr
    assert (attribute(last.find(qn("w:pgSz")), "w"), attribute(last.find(qn("w:pgSz")), "h")) == size
    assert {attribute(node, "val") for node in document.styles.element.iter(qn("w:lang"))} == {tongue}
    for section in document.sections:
        assert attribute(section._sectPr.find(qn("w:lnNumType")), "restart") == "continuous"
        assert [code.text for code in section.footer._element.iter(qn("w:instrText"))] == [" PAGE "]
    assert document.styles["Normal"].paragraph_format.line_spacing == 2
    faces = {face for fonts in document.styles.element.iter(qn("w:rFonts")) for face in fonts.attrib.values()}
    assert faces == {"Times New Roman"}


def test_picture_fits_the_page_and_has_words(document):
    figure = sample_manuscript().figures[0]
    shown = document.inline_shapes[0]
    assert shown._inline.docPr.get("descr") == figure.description
    section = document.sections[-1]
    assert figure.width == 6.5
    assert shown.width == section.page_width - section.left_margin - section.right_margin < Inches(6.5)
    assert shown.height / shown.width == pytest.approx(350 / 650, abs=1e-4)
    assert shown._inline.graphic.graphicData.pic.blipFill.blip.embed in document.part.rels
    narrow = replace(sample_manuscript().figures[0], width=3.0)
    small = docx.Document(io.BytesIO(to_docx(Manuscript("T", (narrow,)), {"healing-curve": picture()})))
    assert small.inline_shapes[0].width == Inches(3)


def test_tables_repeat_their_heads_and_have_no_vertical_rules(document):
    tables = list(document.element.body.iter(qn("w:tbl")))
    assert len(tables) == 2
    for table, heads in zip(tables, (2, 1), strict=True):
        rows = table.findall(qn("w:tr"))
        assert [row.find(f".//{qn('w:tblHeader')}") is not None for row in rows] == [
            n < heads for n in range(len(rows))
        ]
        assert all(row.find(f".//{qn('w:cantSplit')}") is not None for row in rows)
        borders = [*table.iter(qn("w:tblBorders")), *table.iter(qn("w:tcBorders"))]
        assert {side.tag for border in borders for side in border} == {qn("w:top"), qn("w:bottom")}
    spans = [attribute(node, "val") for node in tables[0].iter(qn("w:gridSpan"))]
    assert spans == ["3", "2"]
    sides = [attribute(node, "val") for node in tables[0].findall(qn("w:tr"))[2].iter(qn("w:jc"))]
    assert sides == ["left"] + ["right"] * 5


def test_hostile_text_stays_text(document):
    texts = paragraphs(document)
    assert "<b>Rabbits</b> & others [/red]" in texts
    assert "=1+1" in texts
    odd = Table("odd", "Odd\x00 ]]> {}", (Column("\x0b&amp;"),), (("one\ntwo\x1f",), ("{{x}} \\fldinst",)))
    found = docx.Document(io.BytesIO(to_docx(Manuscript("<T>", (odd,)), {})))
    assert {"&amp;", "onetwo", "{{x}} \\fldinst", "Table 1. Odd ]]> {}", "<T>"} <= set(paragraphs(found))
    assert len(list(found.element.body.iter(qn("w:br")))) == 1


def test_wide_table_lies_on_a_page_on_its_side(document):
    sections = [section.orientation for section in document.sections]
    assert sections == [0, 1, 0]
    body = list(document.element.body)
    ends = [
        number
        for number, node in enumerate(body)
        if node.tag == qn("w:p") and node.find(f".//{qn('w:sectPr')}") is not None
    ]
    assert ends[1] - ends[0] == 2
    assert "Grafts one by one" in "".join(body[ends[0] + 1].itertext())
    upright = docx.Document(io.BytesIO(to_docx(Manuscript("T", (plain_table(),)), {})))
    assert len(upright.sections) == 1


def test_pages_on_their_side_leave_no_empty_page():
    wide, other = wide_table(), replace(wide_table(), id="other")
    blocks = (Heading("A"), PageBreak(), wide, PageBreak(), other)
    document = docx.Document(io.BytesIO(to_docx(Manuscript("T", blocks), {})))
    assert [section.orientation for section in document.sections] == [0, 1, 1]
    assert not [node for node in document.element.body.iter(qn("w:br")) if attribute(node, "type") == "page"]
    assert document.element.body[-2].tag == qn("w:sdt")


def test_room_goes_to_the_columns_with_long_texts():
    table = Table("t", "T", (Column("Item"), Column("What is asked")), (("1", "word " * 60), ("22", "few words")))
    grid = next(docx.Document(io.BytesIO(to_docx(Manuscript("T", (table,)), {}))).element.body.iter(qn("w:tblGrid")))
    item, asked = (int(attribute(column, "w")) for column in grid)
    assert asked > 5 * item
    assert item + asked == pytest.approx((210 - 50.8) / 25.4 * 1440, abs=3)


def test_what_the_author_must_fill_is_bold_bracketed_and_yellow(document):
    asked = [run for p in document.paragraphs for run in p.runs if run.text.startswith("[Author: ")]
    assert len(asked) == 3
    assert all(run.bold and run.font.highlight_color == 7 and run.text.endswith("]") for run in asked)
    assert any("score intervals (Wilson 1927)." in text for text in paragraphs(document))
    assert [p.style.name for p in document.paragraphs if p.text.startswith(("Wilson EB", "Kaplan EL"))] == [
        "Reference"
    ] * 2


def test_headings_are_headings(document):
    found = [(p.style.name, p.text) for p in document.paragraphs if p.style.name.startswith(("Heading", "Title"))]
    assert found == [
        ("Title", sample_manuscript().title),
        ("Heading 1", "Methods"),
        ("Heading 2", "Animals"),
        ("Heading 2", "Statistics"),
        ("Heading 1", "Results"),
        ("Heading 1", "Discussion"),
        ("Heading 1", "References"),
    ]


def test_title_and_note_stand_once_where_they_belong(document):
    assert sum(line == sample_manuscript().title for line in paragraphs(document)) == 1
    assert paragraphs(document)[0].startswith("About this file. ")
    without_facts = docx.Document(io.BytesIO(to_docx(Manuscript("Losses", (plain_table(),)), {})))
    assert paragraphs(without_facts)[0] == "Losses"
    headed = docx.Document(io.BytesIO(to_docx(Manuscript("Losses", (Heading("Losses"), plain_table())), {})))
    assert paragraphs(headed).count("Losses") == 1


def test_same_manuscript_gives_the_same_bytes_with_no_date_of_today(written):
    assert to_docx(sample_manuscript(), sample_pictures()) == written
    with zipfile.ZipFile(io.BytesIO(written)) as file:
        assert {entry.date_time for entry in file.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        core = file.read("docProps/core.xml").decode()
    assert set(re.findall(r"\d{4}-\d\d-\d\d", core)) == {"2000-01-01"}
    assert docx.Document(io.BytesIO(written)).core_properties.author == ""


def test_missing_picture_is_an_error():
    with pytest.raises(KeyError, match="healing-curve"):
        to_docx(sample_manuscript(), {})
