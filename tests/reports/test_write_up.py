"""The folder of a write-up, and a manuscript that its author typed in before the data changed."""

import csv
import io
import shutil

import docx
import openpyxl
import pytest
from PIL import Image

from audit.protocol import read_protocol
from audit.store import open_store
from reports.cli import main
from reports.word.refresh import refresh
from reports.word.to_docx import to_docx
from reports.write_up.evidence import evidence
from reports.write_up.manuscript import manuscript
from synthetic_data.edge_cases import edge_case
from synthetic_data.workbook import write_workbook


def written(path):
    """Every word of a Word file, those in marked blocks too."""
    paragraphs = docx.Document(path).element.iter(f"{W}p")
    return "\n".join("".join(text.text or "" for text in part.iter(f"{W}t")) for part in paragraphs)


W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


@pytest.fixture(scope="module")
def folder(tmp_path_factory, readme_folder):
    """The small series of the README's commands, typed in, then written up again after other records were loaded."""
    root = tmp_path_factory.mktemp("series") / "practice"
    shutil.copytree(readme_folder, root)
    store, into, key = root / "practice.duckdb", root / "write-up", root / "config" / "practice.key"
    paper = docx.Document(into / "manuscript.docx")
    result = next(part for part in paper.paragraphs if part.text.startswith("In dogs") and "take" in part.text)
    result.add_run(" We had expected fewer.")
    result.insert_paragraph_before("What follows was a surprise to all of us.")
    paper.save(into / "manuscript.docx")
    write_workbook(edge_case("none took"), root / "second.xlsx")
    assert main(["load", str(root / "second.xlsx"), "--store", str(store), "--key", str(key)]) == 0
    protocol = str(root / "protocol.frozen.toml")
    assert main(["write-up", "--store", str(store), "--protocol", protocol, "--into", str(into)]) == 0
    return into


def test_every_file_is_there(folder):
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    wanted = {
        "manuscript.docx", "manuscript.pdf", "manuscript-before.docx", "changes.csv", "reporting-guide.docx",
        "reporting-guide.csv", "tables.xlsx", "tables/take.csv", "case-numbers.csv", "figures/legends.txt",
        "figures/alt-text.txt", "figures/flow-85mm.svg", "figures/flow-85mm.pdf", "figures/flow-175mm-600dpi.tif",
        "figures/flow-85mm-300dpi.png", "talk/flow.png",
    }  # fmt: skip
    assert wanted <= names
    with Image.open(folder / "figures" / "flow-175mm-600dpi.tif") as picture:
        assert (picture.mode, picture.info["dpi"], picture.info["compression"]) == ("RGB", (600, 600), "tiff_lzw")


def test_typed_words_stay_and_numbers_follow_the_data(folder):
    words = written(folder / "manuscript.docx")
    assert "We had expected fewer." in words
    assert "What follows was a surprise to all of us." in words
    took = "12 of 12 (100\u00a0%, 95\u00a0% interval 76 to 100\u00a0%) free grafts"
    assert took in written(folder / "manuscript-before.docx")
    assert took not in words
    with (folder / "changes.csv").open(encoding="utf-8-sig", newline="") as file:
        changes = list(csv.DictReader(file))
    take = next(row for row in changes if row["where"].startswith("Take") and row["old"].startswith("12 of 12"))
    assert take["what"] == "changed"
    assert take["new"] in words


def test_tables_agree_in_every_format(folder):
    with (folder / "tables" / "take.csv").open(encoding="utf-8-sig", newline="") as file:
        as_csv = list(csv.reader(file))
    sheets = openpyxl.load_workbook(folder / "tables.xlsx")
    sheet = next(sheet for sheet in sheets if "Take: " in str(sheet["A1"].value))
    in_sheet = [[str(cell.value) for cell in row] for row in sheet.iter_rows()]
    assert all(line in [row[: len(line)] for row in in_sheet] for line in as_csv[1:])
    words = written(folder / "manuscript.docx")
    assert all(cell in words for line in as_csv for cell in line)


def test_case_numbers_lead_back_to_the_codes(folder):
    rows = list(csv.reader(io.StringIO((folder / "case-numbers.csv").read_text("utf-8"))))
    assert rows[0] == ["case in the paper", "case code"]
    assert len({code for _, code in rows[1:]}) == len(rows) - 1 >= 12


def test_a_file_that_is_no_manuscript_is_left_alone(folder, tmp_path, capsys):
    into = tmp_path / "paper"
    into.mkdir()
    (into / "manuscript.docx").write_bytes(b"my own notes")
    store = folder.parent / "practice.duckdb"
    assert main(["write-up", "--store", str(store), "--into", str(into)]) == 1
    assert "manuscript.docx: the file cannot be read as a Word document" in capsys.readouterr().err
    assert [path.name for path in into.iterdir()] == ["manuscript.docx"]
    assert (into / "manuscript.docx").read_bytes() == b"my own notes"


def test_the_same_data_give_the_same_manuscript(folder):
    protocol = read_protocol(folder.parent / "protocol.frozen.toml")
    with open_store(folder.parent / "practice.duckdb", read_only=True) as store:
        paper = manuscript(evidence(store.under(protocol)))
        again = manuscript(evidence(store.under(protocol)))
    pictures = {figure.id: _dot() for figure in paper.figures}
    first = to_docx(paper, pictures)
    assert first == to_docx(again, pictures)
    assert refresh(first, again, pictures) == (first, ())


def _dot() -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (4, 4), "white").save(buffer, "PNG")
    return buffer.getvalue()
