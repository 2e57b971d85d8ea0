"""An author edits the file, the data change, the file is renewed: new numbers come in, and no typed word goes."""

import io
import shutil
import subprocess
import zipfile
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

import docx
import pytest
from docx.oxml.ns import qn
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_manuscript import later_manuscript, sample_manuscript, sample_pictures
from lxml import etree

from reports.prose import Fact, Manuscript, Paragraph
from reports.word.parts import element, run
from reports.word.refresh import NEW, Change, RefreshError, refresh
from reports.word.to_docx import to_docx

FIRST, LATER = (
    "13 of 18 grafts took (72 %, 95 % interval 49 to 88 %)",
    "15 of 20 grafts took (75 %, 95 % interval 53 to 89 %)",
)
ROW, LATER_ROW = "Dogs | 12 | 9 | 1 | 75 to 83 | 47 to 96", "Dogs | 12 | 11 | 1 | 75 to 83 | 47 to 96"
TAKE = Change("changed", "Results: take all", FIRST, LATER)
SEROMA = Change("gone", "Results: seroma", "2 of 18 grafts", "")
TABLE = Change("changed", "Results: take by species", ROW, LATER_ROW)
FIGURE = Change("changed", "Results: healing curve", "the earlier picture", "a new picture")
LOST = Change("new", f"{NEW}: lost all", "", "3 animals")
LOSSES = Change("new", f"{NEW}: losses", "", "Animals lost from sight")


@pytest.fixture(scope="module")
def written() -> bytes:
    return to_docx(sample_manuscript(), sample_pictures())


def edited(file: bytes, edit: Callable) -> bytes:
    """The file after an author's edit; `edit` gets the document and a finder of marked blocks."""
    document, out = docx.Document(io.BytesIO(file)), io.BytesIO()
    edit(document, lambda key: blocks(document, key)[0])
    document.save(out)
    return out.getvalue()


def blocks(document, key: str) -> list:
    tags = document.element.body.iter(qn("w:tag"))
    return [tag.getparent().getparent() for tag in tags if tag.get(qn("w:val")).startswith(f"{key}:")]


def words(node) -> str:
    return "".join(text.text or "" for text in node.iter(qn("w:t")))


def texts(file: bytes) -> list[str]:
    """The whole text of each paragraph."""
    return [words(node) for node in docx.Document(io.BytesIO(file)).element.body.iter(qn("w:p"))]


def test_nothing_changes_where_nothing_changed(written):
    assert refresh(written, sample_manuscript(), sample_pictures()) == (written, ())


def test_numbers_are_renewed_once(written):
    renewed, changes = refresh(written, later_manuscript(), sample_pictures(90))
    assert changes == (TAKE, SEROMA, TABLE, FIGURE, LOST, LOSSES)
    found = texts(renewed)
    assert f"{LATER} to at least 75 % on day 10, as Table 1 shows." in found
    assert "Seroma was seen in [no longer in the data; was: 2 of 18 grafts]." in found
    assert found[found.index(NEW) + 1] == "3 animals were lost from sight (Table 3)."
    assert found.count("Table 3. Animals lost from sight") == 1
    assert "11" in found
    assert "9" not in found
    with zipfile.ZipFile(io.BytesIO(renewed)) as file:
        pictures = [file.read(name) for name in file.namelist() if name.startswith("word/media")]
    assert pictures == [sample_pictures(90)["healing-curve"]]
    assert refresh(renewed, later_manuscript(), sample_pictures(90)) == (renewed, ())
    back, changes = refresh(renewed, sample_manuscript(), sample_pictures(90))
    assert (
        Change("changed", "Results: seroma", "[no longer in the data; was: 2 of 18 grafts]", "2 of 18 grafts")
        in changes
    )
    assert [change.kind for change in changes] == ["changed", "changed", "changed", "gone", "gone"]
    assert "Seroma was seen in 2 of 18 grafts." in texts(back)


def test_every_word_of_the_author_stays(written):
    def edit(document, block):
        took = block("take.all")
        took.addprevious(run("As we had hoped, "))
        took.addnext(run(", to our relief,"))
        took.getparent().addnext(element("p", run("A paragraph of the author's own.")))
        document.add_paragraph("Owners were asked by telephone; here it is again: ")._p.append(deepcopy(took))
        seroma = block("seroma")
        seroma.getparent().remove(seroma)
        block("series").find(qn("w:sdtContent")).append(run(" from two farms"))
        cell = next(text for text in block("take-by-species").iter(qn("w:t")) if text.text == "Cats")
        cell.text = "Cats, all indoor"
        block("healing.median").find(f".//{qn('w:r')}").insert(0, element("rPr", element("b")))

    file = edited(written, edit)
    renewed, changes = refresh(file, later_manuscript(), sample_pictures())
    typed = "18 grafts in 16 animals from two farms"
    edited_row = "Cats, all indoor | 6 | 4 | 1 | – | –"
    assert changes == (
        Change("typed over", "Animals: series", typed, "18 grafts in 16 animals"),
        TAKE,
        Change(
            "typed over",
            "Results: take by species",
            f"{ROW}; {edited_row}",
            f"{LATER_ROW}; Cats | 6 | 4 | 1 | – | –",
        ),
        Change("changed", "References: take all", FIRST, LATER),
        LOST,
        LOSSES,
    )
    found = texts(renewed)
    assert f"As we had hoped, {LATER}, to our relief, to at least 75 % on day 10, as Table 1 shows." in found
    assert f"Owners were asked by telephone; here it is again: {LATER}" in found
    series = "The invented series holds 18 grafts in 16 animals"
    assert f"{series} [You typed: from two farms]. [Author: who gave consent, and how]" in found
    assert "Seroma was seen in ." in found
    assert found.index("Cats") < found.index("Your edited copy of the table above") < found.index("Cats, all indoor")
    assert "A paragraph of the author's own." in found
    assert [line for line in texts(file) if line not in found] == [
        line
        for line in texts(file)
        if "13 of 18" in line or line.endswith("farms. [Author: who gave consent, and how]")
    ]
    median = blocks(docx.Document(io.BytesIO(renewed)), "healing.median")[0]
    assert median.find(f".//{qn('w:b')}") is not None
    # What was moved out is the author's own text from now on.
    assert refresh(renewed, later_manuscript(), sample_pictures()) == (renewed, ())


def test_deleted_blocks_stay_away(written):
    def edit(document, block):
        for key in ("case-by-case", "seroma", "cats"):
            block(key).getparent().remove(block(key))

    file = edited(written, edit)
    assert refresh(file, sample_manuscript(), sample_pictures())[1] == ()
    renewed, changes = refresh(file, later_manuscript(), sample_pictures())
    assert changes == (TAKE, TABLE, LOST, LOSSES)
    assert not any("Grafts one by one" in line or "Of 6 cats" in line for line in texts(renewed))
    # The table that came last is now the second.
    assert "3 animals were lost from sight (Table 2)." in texts(renewed)
    assert "Table 2. Animals lost from sight" in texts(renewed)


def test_layout_that_the_author_gave_a_table_or_figure_stays(written):
    def edit(document, block):
        rows = list(block("take-by-species").iter(qn("w:tr")))
        rows[2].findall(f".//{qn('w:r')}")[2].insert(0, element("rPr", element("i")))
        extent = next(block("healing-curve").iter(qn("wp:extent")))
        extent.set("cx", "1300000")
        extent.set("cy", "700000")

    renewed, changes = refresh(edited(written, edit), later_manuscript(), sample_pictures(90))
    assert changes == (TAKE, SEROMA, TABLE, FIGURE, LOST, LOSSES)
    document = docx.Document(io.BytesIO(renewed))
    slanted = next(blocks(document, "take-by-species")[0].iter(qn("w:i"))).getparent().getparent()
    assert words(slanted) == "11"
    assert (document.inline_shapes[0].width, document.inline_shapes[0].height) == (1300000, 700000)
    relation = document.inline_shapes[0]._inline.graphic.graphicData.pic.blipFill.blip.embed
    assert document.part.related_parts[relation].blob == sample_pictures(90)["healing-curve"]


def test_table_with_another_row_or_caption_is_put_in_whole(written):
    def with_table(**other) -> Manuscript:
        manuscript = sample_manuscript()
        table = manuscript.tables[0]
        changed = replace(table, **other)
        return replace(manuscript, blocks=tuple(changed if b is table else b for b in manuscript.blocks))

    rows = sample_manuscript().tables[0].rows
    longer, changes = refresh(written, with_table(rows=rows + rows[:1]), sample_pictures())
    assert changes == (Change("changed", TABLE.where, "", ROW),)
    assert texts(longer).count("Dogs") == 2
    titled, changes = refresh(written, with_table(title="Take in dogs and cats"), sample_pictures())
    assert changes == (Change("changed", TABLE.where, "Take by species", "Take in dogs and cats"),)
    assert "Table 1. Take in dogs and cats" in texts(titled)


def test_numbers_follow_tables_that_the_author_moved(written):
    def edit(document, block):
        block("take-by-species").addprevious(block("case-by-case"))

    renewed, changes = refresh(edited(written, edit), sample_manuscript(), sample_pictures())
    assert changes == ()
    assert {"Table 1. Grafts one by one", "Table 2. Take by species"} <= set(texts(renewed))
    assert f"{FIRST} to at least 75 % on day 10, as Table 2 shows." in texts(renewed)
    assert any("as Figure 1 and Table 1 show" in line for line in texts(renewed))


@pytest.mark.parametrize(
    ("now", "note"),
    [
        ("In all, 18 grafts in 16 animals", "In all,"),
        ("18 grafts in 16 animals, all told", ", all told"),
        ("18 grafts in 16 dogs and cats", "18 grafts in 16 dogs and cats"),
    ],
)
def test_what_was_typed_in_a_block_stands_behind_it(written, now, note):
    def edit(document, block):
        next(block("series").iter(qn("w:t"))).text = now

    renewed, changes = refresh(edited(written, edit), sample_manuscript(), sample_pictures())
    assert changes == (Change("typed over", "Animals: series", now, "18 grafts in 16 animals"),)
    assert any(f"holds 18 grafts in 16 animals [You typed: {note}]. " in line for line in texts(renewed))


def test_block_lost_and_typed_in_keeps_the_typed_words(written):
    file = edited(written, lambda document, block: block("seroma").find(qn("w:sdtContent")).append(run(", all small")))
    renewed, changes = refresh(file, later_manuscript(), sample_pictures(90))
    typed = "2 of 18 grafts, all small"
    assert changes[1:3] == (Change("gone", SEROMA.where, "", ""), Change("typed over", SEROMA.where, typed, ""))
    assert f"Seroma was seen in [no longer in the data] [You typed: {typed}]." in texts(renewed)


def test_lost_table_stands_as_it_was_under_a_line(written):
    manuscript = later_manuscript()
    first, _ = refresh(written, manuscript, sample_pictures())
    renewed, changes = refresh(first, sample_manuscript(), sample_pictures())
    assert Change("gone", f"{NEW}: losses", "", "") in changes
    found = texts(renewed)
    line = found.index("[no longer in the data; left as it was]")
    assert found[line + 2] == "Table 3. Animals lost from sight"
    assert refresh(renewed, sample_manuscript(), sample_pictures())[1] == ()


def test_caption_alone_is_renewed_where_the_picture_was_taken_out(written):
    def edit(document, block):
        shown = next(block("healing-curve").iter(qn("w:drawing")))
        shown.getparent().remove(shown)

    assert refresh(edited(written, edit), sample_manuscript(), sample_pictures(90))[1] == ()


def test_own_picture_in_place_of_ours_is_kept(written):
    def edit(document, block):
        relation, _ = document.part.get_or_add_image(io.BytesIO(sample_pictures(1)["healing-curve"]))
        next(block("healing-curve").iter(qn("a:blip"))).set(qn("r:embed"), relation)

    renewed, changes = refresh(edited(written, edit), sample_manuscript(), sample_pictures())
    assert [change.kind for change in changes] == ["typed over"]
    shown = docx.Document(io.BytesIO(renewed)).inline_shapes
    assert len(shown) == 2
    assert sum(line.startswith("Figure 1. Healing") for line in texts(renewed)) == 2


def test_tracked_changes_comments_and_other_parts_stay(written):
    def edit(document, block):
        note = document.paragraphs[-1]
        document.add_comment(note.runs[0], text="Check this source.", author="A", initials="A")
        mark = {"id": 900, "author": "A", "date": "2024-02-01T00:00:00Z"}
        block("cats").addnext(element("ins", run(" They lived indoors."), **mark))
        struck = run("gone")
        struck.find(qn("w:t")).tag = qn("w:delText")
        block("cats").addnext(element("del", struck, **mark))
        for old in list(block("healing.median").find(qn("w:sdtContent")).iter(qn("w:r"))):
            old.find(qn("w:t")).tag = qn("w:delText")
            old.getparent().replace(old, element("del", deepcopy(old), **mark))

    file = edited(written, edit)
    renewed, changes = refresh(file, later_manuscript(), sample_pictures())
    assert changes == (TAKE, SEROMA, TABLE, LOST, LOSSES)
    with zipfile.ZipFile(io.BytesIO(file)) as old, zipfile.ZipFile(io.BytesIO(renewed)) as new:
        for name in (
            "word/styles.xml",
            "word/comments.xml",
            "word/settings.xml",
            "word/footer1.xml",
            "word/numbering.xml",
        ):
            assert new.read(name) == old.read(name)
    before, after = (docx.Document(io.BytesIO(content)).element.body for content in (file, renewed))
    for name in ("w:ins", "w:del", "w:commentReference"):
        kept = [[etree.tostring(node) for node in body.iter(qn(name))] for body in (before, after)]
        assert kept[0] == kept[1] != []


def test_properties_of_the_author_stay(written):
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(written)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/custom.xml":
                properties = etree.fromstring(content)
                properties.append(deepcopy(properties[0]))
                properties[-1].attrib.update({"name": "Journal", "pid": "9"})
                properties[-1][0].text = "X"
                content = etree.tostring(properties)
            new.writestr(name, content)
    renewed, _ = refresh(out.getvalue(), later_manuscript(), sample_pictures())
    with zipfile.ZipFile(io.BytesIO(renewed)) as file:
        properties = etree.fromstring(file.read("docProps/custom.xml"))
    assert "".join(next(entry for entry in properties if entry.get("name") == "Journal").itertext()) == "X"
    pids = [entry.get("pid") for entry in properties]
    assert len(pids) == len(set(pids)) > 1
    remembered = {key for entry in properties for key in "".join(entry.itertext()).split()}
    assert {"seroma", "lost.all", "losses", "case-by-case"} <= remembered


def test_new_paragraph_brings_its_sources_and_its_pointers(written):
    def edit(document, block):
        block("case-by-case").getparent().remove(block("case-by-case"))
        for source in [p for p in document.paragraphs if p.style.name == "Reference"]:
            source._p.getparent().remove(source._p)

    later = later_manuscript()
    new = Paragraph((Fact("extra", "4 grafts", "x"), *later_median(later)))
    manuscript = Manuscript(later.title, (*later.blocks, new), later.references)
    found = texts(refresh(edited(written, edit), manuscript, sample_pictures())[0])
    end = found[found.index(NEW) :]
    assert any(
        line.startswith("4 grafts, as Figure 1 and [Author: “Grafts one by one” is not in this file]") for line in end
    )
    assert end[-1].startswith("Kaplan EL")
    assert not any(line.startswith("Wilson EB") for line in end)


def test_results_that_come_in_two_goes_stand_under_one_heading(written):
    renewed, _ = refresh(written, later_manuscript(), sample_pictures())
    manuscript = later_manuscript()
    more = Paragraph((Fact("more", "5 visits in all.", "x"),))
    renewed, changes = refresh(renewed, replace(manuscript, blocks=(*manuscript.blocks, more)), sample_pictures())
    assert changes == (Change("new", f"{NEW}: more", "", "5 visits in all."),)
    assert texts(renewed).count(NEW) == 1
    assert texts(renewed)[-1] == "5 visits in all."


def later_median(manuscript: Manuscript) -> tuple:
    """What follows the median in its paragraph: pointers to a figure and a table, and a source."""
    parts = next(b.parts for b in manuscript.blocks if isinstance(b, Paragraph) and "Half of the" in str(b.parts[0]))
    return parts[2:]


def without_controls(document, block) -> None:
    """What a word processor does that knows no content controls: texts and bookmarks stay."""
    for control in list(document.element.body.iter(qn("w:sdt"))):
        for child in list(control.find(qn("w:sdtContent"))):
            control.addprevious(child)
        control.getparent().remove(control)


def test_bookmarks_stand_in_for_lost_controls(written):
    plain = edited(written, without_controls)
    assert not blocks(docx.Document(io.BytesIO(plain)), "take.all")
    renewed, changes = refresh(plain, later_manuscript(), sample_pictures(90))
    assert changes == (TAKE, SEROMA, TABLE, FIGURE, LOST, LOSSES)
    direct, _ = refresh(written, later_manuscript(), sample_pictures(90))
    assert texts(renewed) == texts(direct)
    assert len(blocks(docx.Document(io.BytesIO(renewed)), "take-by-species")) == 1


def test_file_saved_by_libreoffice_is_renewed_alike(written, tmp_path):
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not here")
    (tmp_path / "in.docx").write_bytes(written)
    profile = f"-env:UserInstallation={Path(tmp_path, 'profile').as_uri()}"
    command = [
        program,
        profile,
        "--headless",
        "--convert-to",
        "docx",
        "--outdir",
        tmp_path / "out",
        tmp_path / "in.docx",
    ]
    subprocess.run(command, capture_output=True, timeout=120, check=False)
    saved = tmp_path / "out" / "in.docx"
    if not saved.exists():
        pytest.skip("LibreOffice is here without its word processor")
    same, changes = refresh(saved.read_bytes(), sample_manuscript(), sample_pictures())
    assert changes == ()
    renewed, changes = refresh(saved.read_bytes(), later_manuscript(), sample_pictures(90))
    assert changes == (TAKE, SEROMA, TABLE, FIGURE, LOST, LOSSES)
    direct, _ = refresh(written, later_manuscript(), sample_pictures(90))
    assert [line for line in texts(renewed) if line] == [line for line in texts(direct) if line]
    assert [line for line in texts(same) if line] == [line for line in texts(written) if line]


LINE = st.text(st.characters(codec="utf-8", exclude_categories=("Cc",)), min_size=1).map("Typed: {}".format)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 24), LINE), max_size=4))
def test_typed_paragraphs_survive_wherever_they_stand(written, typed):
    def edit(document, block):
        places = [node for node in document.element.body if node.tag in (qn("w:p"), qn("w:sdt"))]
        for place, text in typed:
            places[place].addnext(element("p", run(text)))

    file = edited(written, edit)
    renewed, changes = refresh(file, later_manuscript(), sample_pictures())
    assert changes == (TAKE, SEROMA, TABLE, LOST, LOSSES)
    lines = [words(element("p", run(text))) for _, text in typed]
    before, after = ([line for line in texts(content) if line in lines] for content in (file, renewed))
    assert before == after
    assert len(before) >= len(lines)


@pytest.mark.parametrize("content", [b"", b"no zip file", to_docx(sample_manuscript(), sample_pictures())[:5000]])
def test_what_is_no_word_file_is_refused_with_the_way_out(content):
    with pytest.raises(RefreshError, match=r"cannot be read as a Word document .*another folder"):
        refresh(content, sample_manuscript(), sample_pictures())


def test_other_zip_files_and_files_without_blocks_are_refused():
    other = io.BytesIO()
    with zipfile.ZipFile(other, "w") as file:
        file.writestr("letter.txt", "hello")
    with pytest.raises(RefreshError, match="cannot be read as a Word document"):
        refresh(other.getvalue(), sample_manuscript(), sample_pictures())
    foreign, out = docx.Document(), io.BytesIO()
    control = element("sdt", element("sdtPr", element("tag", val="take.all")), element("sdtContent", run("mine")))
    foreign.add_paragraph("Dear reader, ")._p.append(control)
    foreign.save(out)
    with pytest.raises(RefreshError, match=r"no marked block.*another folder"):
        refresh(out.getvalue(), sample_manuscript(), sample_pictures())
