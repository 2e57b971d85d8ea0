"""A manuscript as a Word file whose numbers stand in marked blocks, so that a later run can renew them."""

import io
from collections.abc import Mapping, Sequence
from itertools import count
from typing import Any

import docx
from docx.oxml.ns import qn
from docx.shared import Inches, Pt

from reports.document import Figure, Table
from reports.prose import Ask, Block, Cite, Fact, Heading, Inline, Manuscript, PageBreak, Paragraph, See
from reports.word.file import packed, remember, set_up
from reports.word.parts import (
    Element,
    block_key,
    bookmarked,
    drawing,
    element,
    field,
    loud,
    marked,
    paragraph,
    place_name,
    run,
    section_end,
)
from reports.word.table import needed_width, word_table

STYLES = {"body": "Normal", "item": "ListBullet", "reference": "Reference", "title": "Title"}
POINT = Pt(1)
TALLEST = 7.8  # inches of a page that a picture may take
NOTE = (
    "About this file. The numbers, tables and figures that come from the data stand in marked blocks: click on one "
    "and a frame with its name appears. Write around the blocks, move, copy or delete them as you like, but do not "
    "write inside them. When the data change, write up again into the same folder: blocks get their new numbers, "
    "your own words stay, and a list says what changed. Yellow brackets wait for you. Delete this note before the "
    "paper leaves your hands."
)


def to_docx(manuscript: Manuscript, pictures: Mapping[str, bytes]) -> bytes:
    """
    The manuscript as the bytes of a .docx file; `pictures` holds a PNG for each figure, by its identifier.

    A note on the marked blocks comes first, where there are facts. The same manuscript and pictures give the same
    bytes. Raises KeyError when a picture is missing.
    """
    document = docx.Document()
    set_up(document, manuscript.title, manuscript.spelling)
    writer = Writer(document, manuscript, pictures)
    body = document.element.body
    nodes = [paragraph("FileNote", run(NOTE))] if manuscript.facts else []
    heads = [block.text for block in manuscript.blocks if isinstance(block, Heading)]
    titled = any(isinstance(block, Paragraph) and block.style == "title" for block in manuscript.blocks)
    if not titled and manuscript.title not in heads:
        nodes.append(paragraph("Title", run(manuscript.title)))
    nodes += writer.blocks(manuscript.blocks)
    last = nodes[-1].find(f"{qn('w:pPr')}/{qn('w:sectPr')}") if nodes else None
    if last is not None:
        # A last page on its side is the document's own last section; after it there would be an empty page.
        body.replace(body.sectPr, last)
        nodes.pop()
    for node in nodes:
        body.sectPr.addprevious(node)
    remember(document, keys(manuscript))
    return packed(document)


def keys(manuscript: Manuscript) -> dict[str, Fact | Table | Figure]:
    """What stands in marked blocks, by the key in their tags."""
    parts: list[Fact | Table | Figure] = [*manuscript.facts, *manuscript.tables, *manuscript.figures]
    return {block_key(part.id): part for part in parts}


class Writer:
    """Blocks of a manuscript as elements for one document, whose pictures and numbers in use it knows."""

    def __init__(self, document: Any, manuscript: Manuscript, pictures: Mapping[str, bytes]) -> None:
        self.document, self.manuscript, self.pictures = document, manuscript, pictures
        self.lost: frozenset[str] = frozenset()  # tables and figures that are not in the document
        body = document.element.body
        used = {node.get(qn("w:id")) for node in body.iter(qn("w:bookmarkStart"))}
        used |= {node.get(qn("w:val")) for node in body.iter(qn("w:id"))}
        used |= {node.get("id") for node in body.iter(qn("wp:docPr"))}
        self._numbers = (number for number in count(1) if str(number) not in used)

    def blocks(self, blocks: Sequence[Block]) -> list[Element]:
        """
        The blocks as the elements that follow each other in the body.

        A wide table lies on a page of its own on its side, for which page breaks beside it are left out.
        """
        wide = [isinstance(block, Table) and self._is_wide(block) for block in blocks]
        nodes: list[Element] = []
        lying = False
        for number, block in enumerate(blocks):
            if isinstance(block, PageBreak) and any(wide[max(number - 1, 0) : number + 2]):
                continue
            last = self.document.element.body.sectPr
            nodes += [section_end(last, landscape=False)] if wide[number] and not lying else []
            nodes.append(self._block(block))
            nodes += [section_end(last, landscape=True)] if wide[number] else []
            lying = wide[number]
        return nodes

    def _block(self, block: Block) -> Element:
        if isinstance(block, Heading):
            return paragraph(f"Heading{block.level}", run(block.text))
        if isinstance(block, PageBreak):
            return paragraph("BlockEdge", element("r", element("br", type="page")))
        if isinstance(block, Paragraph):
            return paragraph(STYLES[block.style], *(part for inline in block.parts for part in self.inline(inline)))
        return self.marked(block)

    def inline(self, part: Inline) -> list[Element]:
        """A part of a paragraph as runs, fields or a marked block."""
        if isinstance(part, Fact):
            return [self.marked(part)]
        if isinstance(part, See) and part.target not in self.lost:
            return field(f"REF {place_name(part.target)} \\h", self.manuscript.labels[part.target])
        if isinstance(part, See):
            parts: list[Table | Figure] = [*self.manuscript.tables, *self.manuscript.figures]
            title = next(other.title for other in parts if other.id == part.target)
            return [loud(f"[Author: “{title}” is not in this file]")]
        if isinstance(part, Ask):
            return [loud(f"[Author: {part.text}]")]
        return [run(self.manuscript.reference(part.key).short if isinstance(part, Cite) else part)]

    def marked(self, part: Fact | Table | Figure) -> Element:
        """A fact, table or figure in its marked block."""
        if isinstance(part, Fact):
            return marked(block_key(part.id), next(self._numbers), [run(part.text)])
        if isinstance(part, Table):
            return marked(block_key(part.id), next(self._numbers), self._table(part))
        return marked(block_key(part.id), next(self._numbers), self._figure(part), self.pictures[part.id])

    def _table(self, table: Table) -> list[Element]:
        width = self._text_width(landscape=self._is_wide(table))
        notes = [paragraph("TableNote", run(note)) for note in table.notes]
        caption = paragraph("Caption", *self._label(table), run(f". {table.title}"), keepNext="")
        # LibreOffice spoils the field in a block's first paragraph, so that an empty one goes before the caption.
        edges = paragraph("BlockEdge", keepNext=""), paragraph("BlockEdge")
        return [edges[0], caption, word_table(table, width / POINT), *notes, edges[1]]

    def _figure(self, figure: Figure) -> list[Element]:
        relation, image = self.document.part.get_or_add_image(io.BytesIO(self.pictures[figure.id]))
        # Its caption belongs on the same page.
        width = min(Inches(figure.width), self._text_width(), round(Inches(TALLEST) * image.px_width / image.px_height))
        height = round(width * image.px_height / image.px_width)
        shown = drawing(relation, next(self._numbers), figure.title, figure.description, width, height)
        caption = paragraph("Caption", *self._label(figure), run(f". {figure.title}. {figure.caption}"))
        return [paragraph("Picture", shown, keepNext=""), caption, paragraph("BlockEdge")]

    def _label(self, part: Table | Figure) -> list[Element]:
        word, number = self.manuscript.labels[part.id].split()
        counted = field(f"SEQ {word} \\* ARABIC", number)
        return bookmarked(place_name(part.id), next(self._numbers), run(f"{word} "), *counted)

    def _is_wide(self, table: Table) -> bool:
        return needed_width(table) * POINT > self._text_width()

    def _text_width(self, *, landscape: bool = False) -> int:
        section = self.document.sections[-1]
        sides = sorted((section.page_width, section.page_height))
        return sides[landscape] - section.left_margin - section.right_margin
