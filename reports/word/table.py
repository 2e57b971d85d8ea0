"""A table for Word: three rules, heads that repeat on every page, notes below."""

from collections.abc import Sequence

from reports.document import Column, Table
from reports.word.parts import Element, element, paragraph, run

CHARACTER = 4.6  # points that a letter of 9-point type takes, with some to spare
CAPITAL = 5.8  # and a capital, or a letter of a head
PADDING = 12.0  # points beside a cell's text, both sides
LONG = 16  # letters; text longer than this may run on to a second line
LONGEST = 120  # letters; text longer than this gets no more room for it
KEPT = 20  # rows; a table of no more is kept on one page
TWIPS = 20  # to a point


def needed_width(table: Table) -> float:
    """Points that the table asks for if no word is broken."""
    return sum(_widths(table))


def word_table(table: Table, width: float) -> Element:
    """
    The table as a Word table, at most `width` points wide.

    Its title stands in its properties, for readers who cannot see it. Rows are not broken over pages, and a short
    table stays on one.
    """
    points = _fitted(table, width)
    share = sum(points) / width
    rows = [*_heads(table), *(_row(table.columns, row) for row in table.rows)]
    if not table.rows:
        rows.append(_tr([_cell("No rows", Column(""), span=len(table.columns))]))
    if len(rows) <= KEPT:
        for row in rows:
            for text in row.iter(paragraph("").tag):
                text.pPr.insert(1, element("keepNext"))
    rule: dict[str, str | int] = {"val": "single", "sz": 8, "space": 0, "color": "auto"}
    properties = element(
        "tblPr",
        element("tblW", w=round(5000 * share), type="pct"),
        element("tblBorders", element("top", **rule), element("bottom", **rule)),
        element("tblLayout", type="autofit"),
        element("tblCellMar", element("left", w=90, type="dxa"), element("right", w=90, type="dxa")),
        element("tblLook", val="00A0", firstRow=1, firstColumn=1),
        element("tblCaption", val=table.title),
    )
    grid = element("tblGrid", *(element("gridCol", w=round(column * TWIPS)) for column in points))
    return element("tbl", properties, grid, *rows)


def _fitted(table: Table, width: float) -> list[float]:
    """Columns as wide as their texts where the page allows; else what they need, and of the rest what they lack."""
    need, wish = _widths(table), _widths(table, LONGEST)
    if sum(wish) <= width:
        # Two short columns do not lie a page apart.
        return [column * max(1.0, width / 2 / sum(wish)) for column in wish]
    if sum(need) >= width:
        return [column * width / sum(need) for column in need]
    given = (width - sum(need)) / (sum(wish) - sum(need))
    return [least + given * (most - least) for least, most in zip(need, wish, strict=True)]


def _widths(table: Table, longest: int = LONG) -> list[float]:
    """Each column's longest word (up to a bound), or its longest text, of which `longest` letters count, in points."""
    widths = []
    for number, column in enumerate(table.columns):
        texts = [column.head, *(row[number] for row in table.rows)]
        words = [min(len(word), 2 * LONG) for text in texts for word in text.split()]
        heads = [min(len(word), 2 * LONG) * CAPITAL for word in column.head.split()]
        lines = [min(len(text), longest) for text in (texts if longest > LONG else texts[1:])]
        widths.append(max([max([3, *words, *lines]) * CHARACTER, *heads]) + PADDING)
    return widths


def _heads(table: Table) -> list[Element]:
    if not table.spans:
        return [_tr([_cell(column.head, column, rule=True) for column in table.columns], head=True)]
    above: list[Element] = []
    below: list[Element] = []
    for text, width in table.spans:
        covered = table.columns[len(below) : len(below) + width]
        if text:
            above.append(_cell(text, Column(text), span=width, centred=True, rule=True))
            below += [_cell(column.head, column, rule=True) for column in covered]
        else:
            above += [_cell(column.head, column, merge="restart") for column in covered]
            below += [_cell("", column, merge="continue", rule=True) for column in covered]
    return [_tr(above, head=True), _tr(below, head=True)]


def _row(columns: Sequence[Column], row: Sequence[str]) -> Element:
    return _tr([_cell(text, column) for text, column in zip(row, columns, strict=True)])


def _tr(cells: Sequence[Element], *, head: bool = False) -> Element:
    return element("tr", element("trPr", element("cantSplit"), *([element("tblHeader")] if head else [])), *cells)


def _cell(
    text: str, column: Column, *, span: int = 1, merge: str = "", rule: bool = False, centred: bool = False
) -> Element:
    properties = [element("gridSpan", val=span)] if span > 1 else []
    properties += [element("vMerge", val=merge)] if merge else []
    if rule:
        thin: dict[str, str | int] = {"val": "single", "sz": 4, "space": 0, "color": "auto"}
        properties.append(element("tcBorders", element("bottom", **thin)))
    if rule or merge:
        properties.append(element("vAlign", val="bottom"))
    side = "center" if centred else column.align
    return element("tc", element("tcPr", *properties), paragraph("TableText", run(text), jc=side))
