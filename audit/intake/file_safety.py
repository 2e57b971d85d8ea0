"""The look before opening: what kind of file this is, and whether it is safe to read."""

import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from xml.etree import ElementTree

from openpyxl.utils import column_index_from_string

from audit.errors import WorkbookError

LARGEST_UNPACKED = 200_000_000
LAST_ROW = 100_000
LAST_COLUMN = 500

_SAVE_AS = "open it in the spreadsheet program and save it as an Excel workbook (.xlsx)"
_CHUNK = 1 << 20
_MARK = re.compile(
    rb'<(?:\w+:)?c\s(?:[^<>]*\s)?r="([A-Z]{1,3})(\d{1,7})"[^<>]*(?<!/)>'  # a cell that holds something
    rb'|<(?:\w+:)?mergeCell\s(?:[^<>]*\s)?ref="([A-Z0-9:]+)"'
    rb"|<(?:\w+:)?(f)[\s/>]"
)
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_REL = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


@dataclass(frozen=True, slots=True)
class Look:
    """What the look found: merged ranges by sheet name, and whether any cell holds a formula."""

    merged: dict[str, tuple[str, ...]]
    has_formulas: bool


def look(path: Path) -> Look:
    """
    Look at a workbook without opening it.

    Raises WorkbookError, in one sentence, for anything that is not a readable .xlsx of a sensible size.
    """
    _check_kind(path)
    try:
        with zipfile.ZipFile(path) as book:
            _check_parts(path, book)
            return _scan(path, book)
    except (zipfile.BadZipFile, zlib.error, ElementTree.ParseError, EOFError, KeyError, NotImplementedError, OSError):
        raise WorkbookError(f"{path} is damaged or cut short; {_SAVE_AS} again, or take it from a back-up") from None
    except RuntimeError:
        raise WorkbookError(f"{path} is protected by a password; save a copy without one") from None


def _check_kind(path: Path) -> None:
    if not path.exists():
        raise WorkbookError(f"no file at {path}; check the name and the folder")
    try:
        with path.open("rb") as file:
            start = file.read(2048)
    except OSError as error:
        raise WorkbookError(
            f"{path} cannot be opened ({error.strerror}); close it in other programs and try again"
        ) from None
    if not start.strip():
        raise WorkbookError(f"{path} is empty; {_SAVE_AS}")
    if start.startswith(b"PK"):
        return
    if start.startswith(b"\xd0\xcf\x11\xe0"):
        if "EncryptedPackage".encode("utf-16-le") in path.read_bytes():
            raise WorkbookError(f"{path} is protected by a password; save a copy without one")
        raise WorkbookError(f"{path} is an old Excel file (.xls); {_SAVE_AS}")
    if start.startswith(b"%PDF"):
        raise WorkbookError(f"{path} is a PDF; give the workbook that it was made from")
    text = start.lstrip(b"\xef\xbb\xbf \r\n\t").lower()
    if text.startswith((b"<!doctype", b"<html", b"<table", b"<?xml", b"<meta")):
        raise WorkbookError(f"{path} is a web page or XML with a spreadsheet's name; {_SAVE_AS}")
    if b"\0" not in start:
        raise WorkbookError(
            f"{path} is plain text, perhaps CSV with another name; {_SAVE_AS}, or give a folder with one .csv a sheet"
        )
    raise WorkbookError(f"{path} is not a workbook; {_SAVE_AS}")


def _check_parts(path: Path, book: zipfile.ZipFile) -> None:
    names = set(book.namelist())
    if "mimetype" in names and b"opendocument" in book.open("mimetype").read(200):
        raise WorkbookError(f"{path} is an OpenDocument file (.ods); {_SAVE_AS}")
    if "xl/workbook.bin" in names:
        raise WorkbookError(f"{path} is a binary workbook (.xlsb); {_SAVE_AS}")
    if "xl/workbook.xml" not in names:
        raise WorkbookError(f"{path} is a zip file but no workbook; {_SAVE_AS}")
    unpacked = sum(part.file_size for part in book.infolist())
    if unpacked > LARGEST_UNPACKED:
        raise WorkbookError(
            f"{path} unpacks to {unpacked / 1e6:.0f} MB, more than {LARGEST_UNPACKED / 1e6:.0f} MB; "
            "copy the filled rows into a fresh template"
        )


def _scan(path: Path, book: zipfile.ZipFile) -> Look:
    merged: dict[str, tuple[str, ...]] = {}
    has_formulas = False
    for sheet, part in _sheet_parts(book):
        ranges = []
        for column, row, merge, formula in _marks(book, part):
            if column and (int(row) > LAST_ROW or column_index_from_string(column.decode()) > LAST_COLUMN):
                raise WorkbookError(
                    f"{path}, sheet {sheet}: cell {column.decode()}{int(row)} is in use, far beyond any record; "
                    "delete the empty rows and columns beyond your data, or copy the filled rows into a fresh template"
                )
            if merge:
                ranges.append(merge.decode())
            has_formulas = has_formulas or bool(formula)
        merged[sheet] = tuple(ranges)
    return Look(merged, has_formulas)


def _sheet_parts(book: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    links = ElementTree.fromstring(book.read("xl/_rels/workbook.xml.rels"))
    targets = {link.get("Id"): link.get("Target", "") for link in links}
    for sheet in ElementTree.fromstring(book.read("xl/workbook.xml")).iter(f"{_MAIN}sheet"):
        target = targets.get(sheet.get(_REL), "")
        part = target.lstrip("/") if target.startswith("/") else str(PurePosixPath("xl") / target)
        if part in book.namelist():
            yield sheet.get("name", ""), part


def _marks(book: zipfile.ZipFile, part: str) -> Iterator[tuple[bytes, ...]]:
    """Cells, merges and formulas, a chunk at a time: the part may be large. Chunks break between tags."""
    rest = b""
    unpacked = 0
    with book.open(part) as file:
        while chunk := file.read(_CHUNK):
            unpacked += len(chunk)
            if unpacked > LARGEST_UNPACKED:  # the stated size is the file's own word
                raise WorkbookError(f"a sheet of this workbook unpacks to more than {LARGEST_UNPACKED / 1e6:.0f} MB")
            text = rest + chunk
            cut = text.rfind(b"<")
            yield from _MARK.findall(text[:cut])
            rest = text[cut:] if cut >= 0 else text[-200:]
    yield from _MARK.findall(rest)
