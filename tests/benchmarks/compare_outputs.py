"""
Two output folders held against each other, cell by cell and sentence by sentence; exit code 1 where anything differs.

    python -m tests.benchmarks.compare_outputs BEFORE AFTER [--allow FILE] [--only '*.csv']

CSV and XLSX: every cell, numbers as the text they are. HTML, Word and PDF: running text by paragraph and table cell.
SVG: its words, and whether the drawing is another. All other text: by line. Bitmaps show the same figures as the SVG
files and are not read. FILE is TOML: `[[allowed]]` with `file` (a pattern), `old` and `new` (regular expressions of the
whole text, each may be left out) and a `reason`.
"""

import argparse
import csv
import hashlib
import io
import re
import sys
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from fnmatch import fnmatch
from html.parser import HTMLParser
from itertools import takewhile, zip_longest
from pathlib import Path
from typing import TypeVar
from xml.etree import ElementTree

import docx
import openpyxl
import pypdf

BITMAPS = (".png", ".tif", ".tiff")
INLINE = {"a", "b", "i", "em", "strong", "span", "sub", "sup", "abbr", "code", "small", "tspan", "br"}
ABSENT = "(absent)"
Line = TypeVar("Line", str, list[str])


@dataclass(frozen=True, slots=True)
class Difference:
    """One cell, paragraph or line that is not the same on both sides."""

    file: str
    row: str
    column: str
    old: str
    new: str

    def __str__(self) -> str:
        place = ", ".join(filter(None, (self.row, self.column)))
        old, new = _around_change(self.old, self.new)
        return f"{self.file}: {place}\n  - {old}\n  + {new}"


def _around_change(old: str, new: str, beside: int = 60) -> tuple[str, str]:
    """Two long texts without what both begin and end with, but for some letters beside the change."""
    if max(len(old), len(new)) < 4 * beside:
        return old, new
    same = _alike(old, new)
    tail = _alike(old[same:][::-1], new[same:][::-1])
    first, last = max(0, same - beside), max(0, tail - beside)
    return tuple(  # type: ignore[return-value]
        ("... " if first else "") + text[first : len(text) - last] + (" ..." if last else "") for text in (old, new)
    )


def _alike(old: str, new: str) -> int:
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(old, new, strict=False)))


@dataclass(frozen=True, slots=True)
class Allowance:
    """Differences that are meant, and why."""

    file: str
    old: str
    new: str
    reason: str

    def covers(self, difference: Difference) -> bool:
        """Whether the difference is one of these."""
        return (
            fnmatch(difference.file, self.file)
            and re.fullmatch(self.old, difference.old, re.DOTALL) is not None
            and re.fullmatch(self.new, difference.new, re.DOTALL) is not None
        )


def differences(before: Path, after: Path, only: str = "*") -> Iterator[Difference]:
    """Every difference of two folders, file by file in the order of their names; a file on one side only is one."""
    old, new = (
        {path.relative_to(side).as_posix(): path for path in side.rglob("*") if path.is_file()}
        for side in (before, after)
    )
    for name in sorted(old.keys() | new.keys()):
        if not fnmatch(name, only):
            continue
        if name not in new or name not in old:
            yield Difference(name, "file", "", "here" if name in old else ABSENT, "here" if name in new else ABSENT)
        elif old[name].read_bytes() != new[name].read_bytes() and not name.endswith(BITMAPS):
            yield from _of_file(name, old[name], new[name])


def _of_file(name: str, old: Path, new: Path) -> Iterator[Difference]:
    kind = old.suffix
    if kind == ".csv":
        return _grid(name, "", _csv_rows(old), _csv_rows(new))
    if kind == ".xlsx":
        return _workbook(name, old, new)
    reader = _READERS.get(kind, _text_lines)
    return _lines(name, reader(old), reader(new))


def _grid(name: str, sheet: str, old: list[list[str]], new: list[list[str]]) -> Iterator[Difference]:
    """Cells by place once the rows are aligned; where headings differ, cells by heading."""
    if not old or not new or old[0] == new[0] or len(set(old[0])) < len(old[0]) or len(set(new[0])) < len(new[0]):
        heads = old[0] if old else []
    else:
        heads = [*old[0], *(head for head in new[0] if head not in old[0])]
        old, new = _under(heads, old), _under(heads, new)
    for row, before, after in _aligned(old, new):
        if before is None or after is None:
            yield Difference(name, f"{sheet}row {row}", "", _row_text(before), _row_text(after))
            continue
        for place, (left, right) in enumerate(zip_longest(before, after, fillvalue=ABSENT)):
            if left != right:
                column = heads[place] if place < len(heads) else f"column {place + 1}"
                yield Difference(name, f"{sheet}row {row} ({before[0] if before else ''})", column, left, right)


def _under(heads: list[str], rows: list[list[str]]) -> list[list[str]]:
    places = {head: place for place, head in enumerate(rows[0])}
    return [[row[places[head]] if places.get(head, len(row)) < len(row) else ABSENT for head in heads] for row in rows]


def _row_text(row: list[str] | None) -> str:
    return ABSENT if row is None else " | ".join(row)


def _aligned(old: list[Line], new: list[Line]) -> Iterator[tuple[int, Line | None, Line | None]]:
    """Changed lines in pairs, with their number in the old file; a line without a partner stands alone."""
    keys = ([repr(line) for line in side] for side in (old, new))
    for what, first, last, start, stop in SequenceMatcher(None, *keys).get_opcodes():
        if what == "equal":
            continue
        pairs = zip_longest(old[first:last], new[start:stop])
        for offset, (left, right) in enumerate(pairs):
            yield first + offset + 1, left, right


def _lines(name: str, old: list[str], new: list[str]) -> Iterator[Difference]:
    for number, left, right in _aligned(old, new):
        yield Difference(
            name, f"text {number}", "", ABSENT if left is None else left, ABSENT if right is None else right
        )


def _csv_rows(path: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO(path.read_text("utf-8-sig"), newline="")))


def _workbook(name: str, old: Path, new: Path) -> Iterator[Difference]:
    before, after = _sheets(old), _sheets(new)
    for sheet in dict.fromkeys([*before, *after]):
        yield from _grid(name, f"{sheet}, ", before.get(sheet, []), after.get(sheet, []))


def _sheets(path: Path) -> dict[str, list[list[str]]]:
    book = openpyxl.load_workbook(path, read_only=False)
    return {
        sheet.title: [
            [
                ("" if cell.value is None else str(cell.value))
                + (f" [note: {cell.comment.text}]" if cell.comment else "")
                for cell in row
            ]
            for row in sheet.iter_rows()
        ]
        for sheet in book.worksheets
    }


def _text_lines(path: Path) -> list[str]:
    return path.read_bytes().decode("utf-8", "replace").splitlines()


def _pdf_lines(path: Path) -> list[str]:
    return [line for page in pypdf.PdfReader(path).pages for line in page.extract_text().splitlines()]


def _word_lines(path: Path) -> list[str]:
    """Paragraphs and table cells in their order, also inside content controls, where python-docx sees none."""
    lines: list[str] = []
    for block in docx.Document(str(path)).element.body.iter(f"{_WORD}tbl", f"{_WORD}p"):
        if block.tag == f"{_WORD}p":
            lines.append("".join(text.text or "" for text in block.iter(f"{_WORD}t")))
        else:
            lines.append(f"table of {sum(1 for _ in block.iter(f'{_WORD}tr'))} rows")
    return lines


def _svg_lines(path: Path) -> list[str]:
    """The words of a drawing in their order, and last the strokes, which tell whether a mark stands elsewhere."""
    root = ElementTree.parse(path).getroot()
    words = ["".join(part.itertext()) for part in root.iter() if part.tag.endswith(("}text", "}title", "}desc"))]
    strokes = [" ".join(f"{k}={v}" for k, v in sorted(part.attrib.items())) for part in root.iter()]
    return [*words, f"drawn with {len(strokes)} elements, {_digest(strokes)}"]


def _digest(lines: list[str]) -> str:
    """A short digest of lines, the same in every run."""
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:12]


class _Page(HTMLParser):
    """The running text of a page: a line a block element."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = [""]

    def handle_starttag(self, tag: str, attrs: list) -> None:
        if tag not in INLINE:
            self.lines.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag not in INLINE:
            self.lines.append("")

    def handle_data(self, data: str) -> None:
        self.lines[-1] += data


def _page_lines(path: Path) -> list[str]:
    page = _Page()
    page.feed(path.read_text("utf-8"))
    return [" ".join(line.split()) for line in page.lines if line.strip()]


_WORD = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_READERS: dict[str, Callable[[Path], list[str]]] = {
    ".html": _page_lines,
    ".docx": _word_lines,
    ".pdf": _pdf_lines,
    ".svg": _svg_lines,
}


def allowances(path: Path | None) -> list[Allowance]:
    """The differences that are meant; each must give its reason."""
    if path is None:
        return []
    rows = tomllib.loads(path.read_text("utf-8")).get("allowed", [])
    return [Allowance(row.get("file", "*"), row.get("old", ".*"), row.get("new", ".*"), row["reason"]) for row in rows]


def main(argv: Sequence[str] | None = None) -> int:
    """Print each difference and their number; 1 where there is one that nobody allowed."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("before", type=Path)
    words.add_argument("after", type=Path)
    words.add_argument("--allow", type=Path, help="differences that are meant, as TOML")
    words.add_argument("--only", default="*", help="a pattern of the files to read")
    given = words.parse_args(argv)
    for side in (given.before, given.after):
        names = (path.relative_to(side).as_posix() for path in side.rglob("*") if path.is_file())
        if not any(fnmatch(name, given.only) for name in names):
            words.error(f"{side} is no folder that holds {given.only}")
    meant = allowances(given.allow)
    times = dict.fromkeys(meant, 0)
    unmeant = 0
    for difference in differences(given.before, given.after, given.only):
        allowed = next((allowance for allowance in meant if allowance.covers(difference)), None)
        if allowed is None:
            unmeant += 1
            print(difference)
        else:
            times[allowed] += 1
    for allowed, met in times.items():
        print(f"allowed {met} times, {allowed.reason}: {allowed.file}, {allowed.old} -> {allowed.new}")
    print(f"{unmeant} differences" + (f", and {sum(times.values())} allowed" if meant else ""))
    return 1 if unmeant else 0


if __name__ == "__main__":
    sys.exit(main())
