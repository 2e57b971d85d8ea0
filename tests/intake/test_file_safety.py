"""Files of a bad day: each gives a sentence that says what to do, never a traceback."""

import io
import re
import struct
import zipfile

import pytest
from one_animal import KEY, case

from audit.errors import WorkbookError
from audit.intake import file_safety
from audit.intake.check_workbook import check_workbook
from audit.intake.file_safety import look as book_look
from audit.intake.identity import read_or_make_key
from audit.intake.marked import write_marked
from audit.intake.template import write_template


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    path = tmp_path_factory.mktemp("good") / "book.xlsx"
    write_template(path, case())
    return path.read_bytes()


def repacked(good: bytes, change) -> bytes:
    """The workbook with its parts changed: `change` takes a name and the bytes, and gives bytes, or None to drop it."""
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(good)) as old, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            if (text := change(name, old.read(name))) is not None:
                new.writestr(name, text)
    return packed.getvalue()


def far_cell(name, text):
    far = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    return text.replace(b"</sheetData>", far) if name == "xl/worksheets/sheet2.xml" else text


def zipped(**parts: str) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as new:
        for name, text in parts.items():
            new.writestr(name.replace("__", "/").replace("_dot_", "."), text)
    return packed.getvalue()


def locked() -> bytes:
    """The head of a compound file with the stream that a password-protected workbook has."""
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504) + "EncryptedPackage".encode("utf-16-le") + bytes(200)


BAD = {
    "empty.xlsx": (lambda good: b"", "is empty"),
    "renamed.xlsx": (lambda good: b"patient number,species\n1,dog\n", "plain text"),
    "page.xls": (lambda good: b"<html><table><tr><td>1</td></tr></table></html>", "web page"),
    "old.xls": (lambda good: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000), "old Excel file"),
    "locked.xlsx": (lambda good: locked(), "password"),
    "book.ods": (lambda good: zipped(mimetype="application/vnd.oasis.opendocument.spreadsheet"), "(.ods)"),
    "book.xlsb": (lambda good: zipped(xl__workbook_dot_bin="x"), "(.xlsb)"),
    "letter.xlsx": (lambda good: zipped(word__document_dot_xml="x"), "no workbook"),
    "report.xlsx": (lambda good: b"%PDF-1.7 \0", "PDF"),
    "picture.xlsx": (lambda good: b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 0), "not a workbook"),
    "cut.xlsx": (lambda good: good[: len(good) // 2], "damaged"),
    "far.xlsx": (lambda good: repacked(good, far_cell), "sheet Animals: cell XFD1048576"),
    "torn.xlsx": (lambda good: repacked(good, lambda n, t: t[:99] if n == "xl/workbook.xml" else t), "damaged"),
    "gone.xlsx": (lambda good: repacked(good, lambda n, t: None if n == "xl/styles.xml" else t), "cannot be read"),
    "broken.xlsx": (
        lambda good: repacked(good, lambda n, t: t[:900] if n.endswith("sheet3.xml") else t),
        "cannot be read",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_file_gives_one_sentence_with_a_way_out(good, name, tmp_path):
    make, words = BAD[name]
    path = tmp_path / name
    path.write_bytes(make(good))
    with pytest.raises(WorkbookError, match=r"^\S.*[;,] .*$") as caught:
        check_workbook(path, key=KEY)
    assert words in str(caught.value)
    assert name in str(caught.value)


def test_missing_file_and_empty_folder(tmp_path):
    with pytest.raises(WorkbookError, match="no file at"):
        check_workbook(tmp_path / "none.xlsx", key=KEY)
    with pytest.raises(WorkbookError, match=r"no \.csv file"):
        check_workbook(tmp_path, key=KEY)


def test_places_that_cannot_be_read_or_written(good, tmp_path):
    """A folder stands in for a file that another program holds: neither can be opened."""
    book = tmp_path / "book.xlsx"
    book.write_bytes(good)
    for held in (tmp_path / "a", tmp_path / "b", tmp_path / "c"):
        held.mkdir()
    with pytest.raises(WorkbookError, match="cannot be written"):
        write_template(tmp_path / "a")
    with pytest.raises(WorkbookError, match="cannot be written"):
        write_marked(book, (), tmp_path / "b")
    with pytest.raises(WorkbookError, match="cannot be read"):
        read_or_make_key(tmp_path / "c")
    with pytest.raises(WorkbookError, match="cannot be opened"):
        book_look(tmp_path / "a")


def test_overblown_book_is_refused_before_it_is_unpacked(good, tmp_path, monkeypatch):
    path = tmp_path / "big.xlsx"
    path.write_bytes(repacked(good, lambda n, t: t + b" " * 3_000_000 if n.endswith("sheet2.xml") else t))
    assert path.stat().st_size < 200_000
    monkeypatch.setattr(file_safety, "LARGEST_UNPACKED", 2_000_000)
    with pytest.raises(WorkbookError, match="unpacks to"):
        check_workbook(path, key=KEY)


def test_stated_size_and_empty_far_cells_are_not_believed(good, tmp_path):
    """Some programs write a styled, empty cell at the very end, or state the size of the whole sheet."""

    def boast(name, text):
        if name != "xl/worksheets/sheet2.xml":
            return text
        text = re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1:XFD1048576"', text)
        return text.replace(b"</sheetData>", b'<row r="1048576"><c r="XFD1048576" s="1"/></row></sheetData>')

    path = tmp_path / "boast.xlsx"
    path.write_bytes(repacked(good, boast))
    assert check_workbook(path, key=KEY).faults == ()


def test_entities_that_unfold_are_refused(good, tmp_path):
    bomb = b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a "ha"><!ENTITY b "' + b"&a;" * 9 + b'">'
    for inner, outer in zip(b"bcdefghi", b"cdefghij", strict=True):
        bomb += b'<!ENTITY %c "%s">' % (outer, b"&%c;" % inner * 30)
    bomb += b"]><workbook>&j;</workbook>"
    path = tmp_path / "bomb.xlsx"
    path.write_bytes(repacked(good, lambda n, t: bomb if n == "xl/workbook.xml" else t))
    with pytest.raises(WorkbookError, match="damaged"):
        check_workbook(path, key=KEY)
