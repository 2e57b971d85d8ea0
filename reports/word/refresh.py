"""Renew the marked blocks of a Word file that its author has worked on; every word of the author's stays."""

import io
import zipfile
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import docx
from docx.opc.constants import RELATIONSHIP_TYPE
from docx.opc.exceptions import PackageNotFoundError
from docx.oxml.ns import qn
from lxml import etree

from audit.errors import AuditError
from reports.document import Figure, Table
from reports.prose import Cite, Fact, Heading, Manuscript, Paragraph
from reports.word.blocks import MarkedBlock, differences, find_blocks, leave_out_picture, mark_again, tag_of
from reports.word.file import packed, remember, remembered
from reports.word.parts import digest, element, in_words, paragraph, place_name, renumber, run, text_of
from reports.word.to_docx import Writer, keys

NO_BLOCK = (
    "the Word file holds no marked block, so nothing in it can be renewed; "
    "move it to another folder and write up again to get a new one"
)
GONE = "[no longer in the data"
NEW = "Results not yet in your text"
REWRITTEN = ("[Content_Types].xml", "_rels/.rels", "docProps/custom.xml")


class RefreshError(AuditError):
    """The file is not one whose marked blocks could be renewed."""


@dataclass(frozen=True, slots=True)
class Change:
    """What happened to one marked block, and under which heading it stands."""

    kind: Literal["changed", "new", "gone", "typed over"]
    where: str
    old: str
    new: str


def check_ours(existing: bytes) -> None:
    """Raise RefreshError when the bytes are no Word file, or none in which a marked block was ever written."""
    document = _opened(existing)
    if not remembered(document) and not find_blocks(document, set()):
        raise RefreshError(NO_BLOCK)


def refresh(existing: bytes, manuscript: Manuscript, pictures: Mapping[str, bytes]) -> tuple[bytes, tuple[Change, ...]]:
    """
    The author's file with every marked block as the manuscript has it now, and what changed, in reading order.

    What the author typed inside a block is moved behind it; blocks that were deleted stay away; results that the file
    never had are put at its end. Raises RefreshError when the bytes are no Word file or hold no marked block.
    """
    document = _opened(existing)
    body, parts, written = document.element.body, keys(manuscript), remembered(document)
    known = {*parts, *written}
    mark_again(body, {digest(key): key for key in known})
    blocks = find_blocks(document, known)
    if not blocks:
        raise RefreshError(NO_BLOCK)
    writer, met = Writer(document, manuscript, pictures), {block.key for block in blocks}
    changes = [change for block in blocks for change in _renew(block, parts.get(block.key), writer)]
    changes += _append(writer, {key: content for key, content in parts.items() if key not in written | met})
    renumber(body)
    _drop_pictures(document)
    remember(document, {*parts, *met})
    return packed(document, _untouched(existing, document)), tuple(dict.fromkeys(changes))


def _opened(existing: bytes) -> Any:
    try:
        document = docx.Document(io.BytesIO(existing))
    except (zipfile.BadZipFile, PackageNotFoundError, KeyError, ValueError, etree.XMLSyntaxError) as error:
        raise RefreshError(
            "the file cannot be read as a Word document (.docx); open it in a word processor and save it as .docx, "
            "or move it to another folder and write up again"
        ) from error
    document.element.body.get_or_add_sectPr()
    return document


def _untouched(existing: bytes, document: Any) -> dict[str, bytes]:
    """The parts of the file that a refresh does not write, as they were."""
    main = document.part.partname.lstrip("/")
    folder, _, name = main.rpartition("/")
    rewritten = {*REWRITTEN, main, f"{folder}/_rels/{name}.rels"}
    with zipfile.ZipFile(io.BytesIO(existing)) as old:
        return {name: old.read(name) for name in old.namelist() if name not in rewritten}


def _renew(block: MarkedBlock, content: Fact | Table | Figure | None, writer: Writer) -> list[Change]:
    """Bring one block up to date; `content` is None where the data hold it no longer."""
    present, edited = block.present, block.edited
    if not present:
        return []
    if content is None:
        return _lose(block, present, edited)
    renewed = writer.marked(content)
    if isinstance(content, Figure) and not block.images:
        leave_out_picture(renewed)
    mark = tag_of(renewed)
    assert mark is not None
    picture = mark["picture"] or ""
    if digest(present) == mark["text"] and (not block.images or digest(block.images[0]) == picture):
        block.sign(mark["text"], picture)
        return []
    if isinstance(content, Fact):
        old, new, typed = present, content.text, block.typed
        block.write(content.text)
        if edited:
            block.put_behind(f"[You typed: {typed}]")
    else:
        old, new = differences(block.content, renewed)
        what = "table" if isinstance(content, Table) else "figure"
        if edited:
            block.replace(renewed, f"Your edited copy of the {what} above")
        elif block.take_over(renewed):
            block.sign(mark["text"], picture)
        else:
            block.replace(renewed)
    return [Change("typed over" if edited else "changed", block.where, old, new)]


def _lose(block: MarkedBlock, present: str, edited: bool) -> list[Change]:
    """Say at the block that the data no longer hold it."""
    if present.startswith(GONE) and not edited:
        return []
    if block.picture or block.content.find(qn("w:tbl")) is not None:
        words = run(f"{GONE}; left as it was]", element("highlight", val="yellow"))
        block.content.insert(0, paragraph("Normal", words))
        block.sign(digest(text_of(block.content)), block.picture)
        return [Change("gone", block.where, "", "")]
    if not edited:
        block.write(f"{GONE}; was: {present}]", yellow=True)
        return [Change("gone", block.where, present, "")]
    block.write(f"{GONE}]", yellow=True)
    block.put_behind(f"[You typed: {present}]")  # the whole, as the number stands nowhere else now
    return [Change("gone", block.where, "", ""), Change("typed over", block.where, present, "")]


def _append(writer: Writer, new: Mapping[str, Fact | Table | Figure]) -> list[Change]:
    """Put what the file never had at its end, in whole paragraphs, with the sources these cite."""
    if not new:
        return []
    manuscript, body = writer.manuscript, writer.document.element.body
    names = {content.id for content in new.values()}
    blocks: list = [block for block in manuscript.blocks if _holds(block, names)]
    present = {start.get(qn("w:name")) for start in body.iter(qn("w:bookmarkStart"))}
    writer.lost = frozenset(name for name in manuscript.labels if place_name(name) not in present and name not in names)
    cited = {
        content.key
        for block in blocks
        if isinstance(block, Paragraph)
        for content in block.parts
        if isinstance(content, Cite)
    }
    sources = [reference.full for reference in manuscript.references if reference.key in cited]
    text = text_of(body)
    blocks += [Paragraph((source,), "reference") for source in sources if " ".join(source.split()) not in text]
    headings = [line.text for line in writer.document.paragraphs if line.style.name.lower().startswith("heading")]
    if headings[-1:] != [NEW]:
        blocks.insert(0, Heading(NEW))
    for node in writer.blocks(blocks):
        body.sectPr.addprevious(node)
    return [
        Change("new", f"{NEW}: {in_words(key)}", "", content.text if isinstance(content, Fact) else content.title)
        for key, content in new.items()
    ]


def _holds(block: Any, names: Collection[str]) -> bool:
    if isinstance(block, Paragraph):
        return any(isinstance(part, Fact) and part.id in names for part in block.parts)
    return isinstance(block, Table | Figure) and block.id in names


def _drop_pictures(document: Any) -> None:
    """Leave pictures out that nothing in the text shows any more."""
    written = etree.tostring(document.element, encoding="unicode")
    for name, relation in list(document.part.rels.items()):
        if relation.reltype == RELATIONSHIP_TYPE.IMAGE and f'"{name}"' not in written:
            del document.part.rels[name]
