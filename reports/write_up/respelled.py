"""A manuscript with its words as they are to be read: in American spelling, or with per cent signs held to numbers."""

import re
from collections.abc import Callable
from dataclasses import replace

from reports.document import Column, Figure, Table
from reports.prose import Ask, Block, Cite, Fact, Heading, Inline, Manuscript, PageBreak, Paragraph, See
from reports.spelling import american


def respelled(paper: Manuscript, spell: Callable[[str], str] = american) -> Manuscript:
    """The same paper with every word respelled but those of its references, which are titles."""
    return replace(paper, title=spell(paper.title), blocks=tuple(_block(block, spell) for block in paper.blocks))


def tied(paper: Manuscript) -> Manuscript:
    """The same paper with per cent signs tied to their numbers in the text, so that none begins a line."""
    return replace(paper, blocks=tuple(_words(b, _tie) if isinstance(b, Paragraph) else b for b in paper.blocks))


def _tie(text: str) -> str:
    return re.sub(r"(?<=\d) %", "\N{NO-BREAK SPACE}%", text)


def _block(block: Block, spell: Callable[[str], str]) -> Block:
    if isinstance(block, Heading):
        return replace(block, text=spell(block.text))
    if isinstance(block, Paragraph):
        return block if block.style == "reference" else _words(block, spell)
    if isinstance(block, Table):
        return _table(block, spell)
    if isinstance(block, Figure):
        return block.spelled(spell)
    assert isinstance(block, PageBreak)
    return block


def _words(block: Paragraph, spell: Callable[[str], str]) -> Paragraph:
    return replace(block, parts=tuple(_part(part, spell) for part in block.parts))


def _part(part: Inline, spell: Callable[[str], str]) -> Inline:
    if isinstance(part, str):
        return spell(part)
    if isinstance(part, Fact | Ask):
        return replace(part, text=spell(part.text))
    assert isinstance(part, See | Cite)
    return part


def _table(table: Table, spell: Callable[[str], str]) -> Table:
    return replace(
        table,
        title=spell(table.title),
        columns=tuple(Column(spell(c.name), spell(c.unit), c.align) for c in table.columns),
        rows=tuple(tuple(spell(cell) for cell in row) for row in table.rows),
        notes=tuple(spell(note) for note in table.notes),
        spans=tuple((spell(text), width) for text, width in table.spans),
    )
