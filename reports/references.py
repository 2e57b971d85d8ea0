"""Published sources, references.toml: of the methods, of the reporting guides, and of the software."""

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Any

from reports import wording
from reports.prose import Reference

FROM_MEMORY = "(details from memory; check)"


def references(keys: Iterable[str]) -> tuple[Reference, ...]:
    """
    The references of those keys, each once, in the order of their short names.

    Raises ValueError naming every key that is not in the catalogue.

    >>> [reference.short for reference in references(["wilson", "rao-scott", "hudgens", "wilson"])]
    ['Hudgens et al. 2001', 'Rao and Scott 1992', 'Wilson 1927']
    """
    wanted = dict.fromkeys(keys)
    sources = _known(wanted)
    found = [Reference(key, _short(sources[key]), _full(sources[key])) for key in wanted]
    return tuple(sorted(found, key=lambda reference: reference.short.casefold()))


def brief(key: str) -> str:
    """
    The source of that key for a cell of a table: authors, journal or book, year and first page.

    Raises ValueError where the key is not in the catalogue.

    >>> brief("hudgens"), brief("gelman")
    ('Hudgens, Satten and Longini, Biometrics 2001;57:74',
     'Gelman and others, Bayesian Data Analysis, 3rd edition 2013, chapter 5')
    """
    source = _known([key])[key]
    names = _names(source)
    who = f"{names[0]} and others" if len(names) > 3 else wording.join(names)
    if "pages" in source:
        what = f"{source['where']} {source['year']};{source['pages'].partition('-')[0]}"
    else:
        book = source["title"].partition(":")[0].partition(". ")[0]
        what = ", ".join([book, *_edition(source)]) + f" {source['year']}" + "".join(f", {c}" for c in _chapter(source))
    return f"{who}, {what}" + (" (from memory)" if source.get("from_memory") else "")


def _known(keys: Iterable[str]) -> dict[str, dict[str, Any]]:
    lost = [key for key in keys if key not in catalogue()]
    if lost:
        raise ValueError(f"no reference for {', '.join(lost)}; add it to references.toml")
    return catalogue()


def _names(source: dict[str, Any]) -> list[str]:
    return [author.rpartition(" ")[0] for author in source["authors"]]


def _edition(source: dict[str, Any]) -> list[str]:
    return [f"{source['edition']} edition"] if "edition" in source else []


def _chapter(source: dict[str, Any]) -> list[str]:
    return [f"chapter {source['chapter']}"] if "chapter" in source else []


def _short(source: dict[str, Any]) -> str:
    names = _names(source)
    who = f"{names[0]} et al." if len(names) > 2 else " and ".join(names)
    return f"{who} {source['year']}"


def _full(source: dict[str, Any]) -> str:
    dated = f"{source['year']};{source['pages']}" if "pages" in source else f"{source['year']}"
    part = ", ".join(_edition(source) + _chapter(source))
    title = f"{source['title']}. {part}" if part else source["title"]
    full = f"{', '.join(source['authors'])}. {title}. {source['where']} {dated}."
    return f"{full} {FROM_MEMORY}" if source.get("from_memory") else full


@cache
def catalogue() -> dict[str, dict[str, Any]]:
    """Every source by its key, as the file has it."""
    return tomllib.loads((files("reports") / "references.toml").read_text("utf-8"))
