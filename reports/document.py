"""A report before it has a format: sentences, figures, tables and ledgers that every writer reads alike."""

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from plotnine import ggplot

IDENTIFIER = re.compile(r"[a-z][a-z0-9-]*\Z")


@dataclass(frozen=True, slots=True)
class Column:
    """One column's head, its unit, and on which side its cells line up (numbers on the right)."""

    name: str
    unit: str = ""
    align: Literal["left", "right"] = "left"

    @property
    def head(self) -> str:
        """The name, and the unit where there is one."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True, slots=True)
class Table:
    """
    Finished text in rows; the first column names its row.

    `spans` are heads over several columns, from left to right, each with the number of columns under it; "" spans
    nothing. Raises ValueError when a row, or the spans, do not fit the columns.
    """

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    spans: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        _check_identifier(self.id)
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.columns):
                raise ValueError(f"table {self.id}, row {number}: {len(row)} cells for {len(self.columns)} columns")
        if self.spans and sum(width for _, width in self.spans) != len(self.columns):
            raise ValueError(f"table {self.id}: the spans cover other than its {len(self.columns)} columns")


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """
    A plot not yet drawn, `width` by `height` inches.

    `description` says in words what the figure shows, for readers who cannot see it; `caption` tells n and method.
    `narrow` and `wide` are the same figure drawn for one column of a journal and for a slide, where laying it out anew
    would not do.
    """

    id: str
    title: str
    description: str
    caption: str
    plot: ggplot = field(compare=False, repr=False)
    width: float = 6.5
    height: float = 3.5
    narrow: "Figure | None" = field(default=None, compare=False, repr=False)
    wide: "Figure | None" = field(default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        _check_identifier(self.id)

    def spelled(self, spell: Callable[[str], str]) -> "Figure":
        """The figure with its words respelled; what is drawn in it is respelled where it is drawn."""
        return replace(self, title=spell(self.title), description=spell(self.description), caption=spell(self.caption))


@dataclass(frozen=True, slots=True)
class Ledger:
    """The case codes behind a number, by group: those that count, those that do not, and those that cannot be told."""

    title: str
    groups: tuple[tuple[str, Collection[str]], ...]

    @property
    def cases(self) -> int:
        """Case codes in all groups."""
        return sum(len(codes) for _, codes in self.groups)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """
    One question and its answer.

    The first of `sentences` is the answer in plain words; `remarks` say what the answer does not mean.
    """

    id: str
    title: str
    question: str = ""
    sentences: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    ledgers: tuple[Ledger, ...] = ()
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_identifier(self.id)


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning of a few words, and a sentence or two that explain it."""

    head: str
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """
    A whole report, in the order in which it is read.

    The first two cautions are never folded away, however small the screen. `provenance` pairs labels with values.

    Raises ValueError when two of its parts share an identifier.
    """

    title: str
    subtitle: str
    cautions: tuple[Caution, ...]
    headlines: tuple[str, ...]
    sections: tuple[Section, ...]
    definitions: tuple[Section, ...] = ()
    provenance: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        times = Counter(part.id for group in (self._all_sections(), self.figures, self.tables) for part in group)
        twice = [identifier for identifier, count in times.items() if count > 1]
        if twice:
            raise ValueError(f"identifiers given twice in one report: {', '.join(twice)}")

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All figures in order; Figure 1 is the first."""
        return tuple(figure for section in self._all_sections() for figure in section.figures)

    @property
    def tables(self) -> tuple[Table, ...]:
        """All tables in order; Table 1 is the first."""
        return tuple(table for section in self._all_sections() for table in section.tables)

    def _all_sections(self) -> Iterator[Section]:
        yield from self.sections
        yield from self.definitions


def _check_identifier(identifier: str) -> None:
    if not IDENTIFIER.match(identifier):
        raise ValueError(f"{identifier!r} is no identifier; use small letters, digits and hyphens, a letter first")
