"""Running text before it has a format: paragraphs whose numbers are marked, so that they can be renewed."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from reports.document import Figure, Table

FACT = re.compile(r"[a-z0-9][a-z0-9.-]*\Z")


@dataclass(frozen=True, slots=True)
class Fact:
    """
    A number in words, or a whole sentence with its numbers, that follows from data and protocol.

    `id` (small letters, digits, hyphens, full stops) stays the same from one run to the next; `source` says where in
    the audit it was read: attributes, places and keys, joined by full stops.
    """

    id: str
    text: str
    source: str

    def __post_init__(self) -> None:
        if not FACT.match(self.id):
            raise ValueError(f"{self.id!r} is no identifier of a fact; use small letters, digits, hyphens, full stops")


@dataclass(frozen=True, slots=True)
class Ask:
    """A place that only the author can fill, with what belongs there."""

    text: str


@dataclass(frozen=True, slots=True)
class See:
    """The number of a table or a figure ("Table 2"), by its identifier."""

    target: str


@dataclass(frozen=True, slots=True)
class Cite:
    """A reference of the list, by its key; it reads as author and year, and the text around it sets the brackets."""

    key: str


Inline = str | Fact | Ask | See | Cite


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 is a part of the paper, level 2 a piece of it."""

    text: str
    level: Literal[1, 2] = 1


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Text from its parts. An item stands in a list; a reference hangs; a title is large."""

    parts: tuple[Inline, ...]
    style: Literal["body", "item", "reference", "title"] = "body"


@dataclass(frozen=True, slots=True)
class PageBreak:
    """What follows begins on a new page."""


Block = Heading | Paragraph | Table | Figure | PageBreak


@dataclass(frozen=True, slots=True)
class Reference:
    """A published source: "Wilson 1927" in the text, and in full in the list."""

    key: str
    short: str
    full: str


@dataclass(frozen=True, slots=True)
class Manuscript:
    """
    A paper in reading order; tables and figures are numbered apart, each in the order of the blocks.

    Raises ValueError when two facts, or two tables or figures, share an identifier, and when a part names a table,
    figure or reference that is not there.
    """

    title: str
    blocks: tuple[Block, ...]
    references: tuple[Reference, ...] = ()
    spelling: Literal["british", "american"] = "british"

    def __post_init__(self) -> None:
        names = [fact.id for fact in self.facts]
        names += [part.id for part in self.tables] + [part.id for part in self.figures]
        twice = [name for name, times in Counter(names).items() if times > 1]
        if twice:
            raise ValueError(f"identifiers given twice in one manuscript: {', '.join(twice)}")
        labels, keys = self.labels, {reference.key for reference in self.references}
        lost = [part.target for part in self.inlines if isinstance(part, See) and part.target not in labels]
        lost += [part.key for part in self.inlines if isinstance(part, Cite) and part.key not in keys]
        if lost:
            raise ValueError(f"the text points at what is not in it: {', '.join(lost)}")

    @property
    def inlines(self) -> Iterator[Inline]:
        """Every part of every paragraph, in order."""
        for block in self.blocks:
            if isinstance(block, Paragraph):
                yield from block.parts

    @property
    def facts(self) -> tuple[Fact, ...]:
        """The facts of all paragraphs, in order."""
        return tuple(part for part in self.inlines if isinstance(part, Fact))

    @property
    def tables(self) -> tuple[Table, ...]:
        """The tables in order; Table 1 is the first."""
        return tuple(block for block in self.blocks if isinstance(block, Table))

    @property
    def figures(self) -> tuple[Figure, ...]:
        """The figures in order; Figure 1 is the first."""
        return tuple(block for block in self.blocks if isinstance(block, Figure))

    @property
    def labels(self) -> dict[str, str]:
        """Each table's and figure's label ("Table 2") by its identifier."""
        tables = {table.id: f"Table {number}" for number, table in enumerate(self.tables, start=1)}
        return tables | {figure.id: f"Figure {number}" for number, figure in enumerate(self.figures, start=1)}

    def reference(self, key: str) -> Reference:
        """The reference with that key."""
        return next(reference for reference in self.references if reference.key == key)
