"""A report as one self-contained page: no script, nothing fetched, readable on a phone, on paper and by ear."""

import base64
import hashlib
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from reports.document import Figure, Report, Table
from reports.formats.html_tables import table_fragment


def to_html(report: Report, drawings: Mapping[str, str]) -> str:
    """
    The page, with the SVG of each figure taken from `drawings` by the figure's identifier (see draw.draw).

    Raises KeyError when a drawing is missing. The content policy lets nothing in but the page's own style sheet, which
    it names by hash.
    """
    figure_numbers = {figure.id: number for number, figure in enumerate(report.figures, start=1)}
    table_numbers = {table.id: number for number, table in enumerate(report.tables, start=1)}
    style = _style_sheet()

    def table_html(table: Table) -> Markup:
        return Markup(table_fragment(table, f"Table {table_numbers[table.id]}"))

    def drawing(figure: Figure) -> Markup:
        return Markup(drawings[figure.id])

    page = (
        _template_environment()
        .get_template("report.html.j2")
        .render(
            report=report,
            style=Markup(style),
            style_hash=base64.b64encode(hashlib.sha256(style.encode()).digest()).decode(),
            figure_numbers=figure_numbers,
            table_html=table_html,
            drawing=drawing,
        )
    )
    # A per cent sign does not begin a line.
    return re.sub(r"(?<=\d) %", "\N{NO-BREAK SPACE}%", page)


@cache
def _template_environment() -> Environment:
    return Environment(
        loader=PackageLoader("reports.formats"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


@cache
def _style_sheet() -> str:
    # A browser turns CRLF into LF before it takes the hash.
    return (files("reports.formats") / "templates" / "report.css").read_text("utf-8").replace("\r\n", "\n")
