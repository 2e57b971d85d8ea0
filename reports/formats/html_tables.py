"""A table as a fragment of HTML."""

from html import escape

from reports.document import Column, Table


def table_fragment(table: Table, label: str = "") -> str:
    """
    The table as an HTML fragment: a scrolling region around the table, its notes below.

    `label` ("Table 3") goes before the title. Every text is escaped.
    """
    title = f"<b>{escape(label)}.</b> {escape(table.title)}" if label else escape(table.title)
    rows = "\n".join(_row(table.columns, row) for row in table.rows) or _no_rows(len(table.columns))
    groups = "".join(f'<colgroup span="{width}"></colgroup>' for _, width in table.spans)
    notes = "".join(f"<li>{escape(note)}</li>" for note in table.notes)
    return (
        f'<div class="table" id="{table.id}">\n'
        f'<div class="scroll" role="region" aria-labelledby="{table.id}-caption" tabindex="0">\n'
        f'<table>\n<caption id="{table.id}-caption">{title}</caption>{groups}\n'
        f"<thead>\n{_heads(table)}\n</thead>\n<tbody>\n{rows}\n</tbody>\n</table>\n</div>\n"
        + (f'<ul class="notes">{notes}</ul>\n' if notes else "")
        + "</div>"
    )


def _heads(table: Table) -> str:
    if not table.spans:
        return f"<tr>{''.join(map(_head, table.columns))}</tr>"
    above, below, first = "", "", 0
    for text, width in table.spans:
        covered = table.columns[first : first + width]
        first += width
        if text:
            above += f'<th scope="colgroup" colspan="{width}" class="span">{escape(text)}</th>'
            below += "".join(map(_head, covered))
        else:
            above += "".join(_head(column, rows=2) for column in covered)
    return f"<tr>{above}</tr>\n<tr>{below}</tr>"


def _head(column: Column, rows: int = 1) -> str:
    unit = f' <span class="unit">({escape(column.unit)})</span>' if column.unit else ""
    tall = f' rowspan="{rows}"' if rows > 1 else ""
    return f'<th scope="col"{tall}{_side(column)}>{escape(column.name)}{unit}</th>'


def _row(columns: tuple[Column, ...], row: tuple[str, ...]) -> str:
    name, *cells = zip(columns, row, strict=True)
    first = f'<th scope="row"{_side(name[0])}>{escape(name[1])}</th>'
    return f"<tr>{first}{''.join(f'<td{_side(column)}>{escape(cell)}</td>' for column, cell in cells)}</tr>"


def _no_rows(width: int) -> str:
    return f'<tr><td colspan="{width}">No rows</td></tr>'


def _side(column: Column) -> str:
    return ' class="right"' if column.align == "right" else ""
