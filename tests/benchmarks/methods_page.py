"""
Write the tables of methods, as the catalogue audit/methods.toml has them, into the page:

    python -m tests.benchmarks.methods_page --write audit/METHODS.md
"""

import argparse
from itertools import groupby
from pathlib import Path

from audit.methods import Method, catalogue
from reports.references import brief

BEGIN, END = "<!-- methods: begin -->", "<!-- methods: end -->"
COLUMNS = ("question", "function", "method", "named in results", "source", "checked in, against")


def tables() -> str:
    """A heading and a table for each part of the catalogue, in Markdown."""
    parts = []
    for part, methods in groupby(catalogue().methods.values(), key=lambda method: method.part):
        rows = [f"| {' | '.join(row)} |" for row in (COLUMNS, *map(_row, methods))]
        parts.append("\n".join([f"## {part}", "", rows[0], "|---" * len(COLUMNS) + "|", *rows[1:]]))
    return "\n\n".join(parts)


def _row(method: Method) -> tuple[str, ...]:
    source = "; ".join(map(brief, method.sources)) or f"none: {method.no_source}"
    return (method.question, _code(method.functions), method.says, _code(method.names), source, method.checked)


def _code(names: tuple[str, ...]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def between(page: str, begin: str, end: str, text: str) -> str:
    """The page with the text between its two marks; ValueError where it lacks one."""
    return f"{page[: page.index(begin) + len(begin)]}\n{text}\n{page[page.index(end) :]}"


def main() -> None:
    """Print the tables, or put them between their marks in a page."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--write", type=Path, help="page with the marks between which the tables go")
    page = parser.parse_args().write
    if page:
        page.write_text(between(page.read_text("utf-8"), BEGIN, END, tables()), "utf-8")
    else:
        print(tables())


if __name__ == "__main__":
    main()
