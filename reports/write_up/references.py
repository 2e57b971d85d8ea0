"""Published sources: of the methods that estimates name, of the reporting guides, and of the software."""

import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Any

from reports.prose import Reference

FROM_MEMORY = "(details from memory; check)"


def references(keys: Iterable[str]) -> tuple[Reference, ...]:
    """
    The references of those keys, each once, in the order of their short names.

    Raises ValueError naming every key that is not in the catalogue.

    >>> [reference.short for reference in references(["wilson", "rao-scott", "hudgens", "wilson"])]
    ['Hudgens et al. 2001', 'Rao and Scott 1992', 'Wilson 1927']
    """
    wanted, known = dict.fromkeys(keys), catalogue()
    lost = [key for key in wanted if key not in known]
    if lost:
        raise ValueError(f"no reference for {', '.join(lost)}; add it to references.toml")
    found = [Reference(key, _short(known[key]), _full(known[key])) for key in wanted]
    return tuple(sorted(found, key=lambda reference: reference.short.casefold()))


def _short(source: dict[str, Any]) -> str:
    names = [author.rpartition(" ")[0] for author in source["authors"]]
    who = f"{names[0]} et al." if len(names) > 2 else " and ".join(names)
    return f"{who} {source['year']}"


def _full(source: dict[str, Any]) -> str:
    dated = f"{source['year']};{source['pages']}" if "pages" in source else f"{source['year']}"
    full = f"{', '.join(source['authors'])}. {source['title']}. {source['where']} {dated}."
    return f"{full} {FROM_MEMORY}" if source.get("from_memory") else full


@cache
def catalogue() -> dict[str, dict[str, Any]]:
    """Every source by its key, as the file has it."""
    return tomllib.loads((files("reports.write_up") / "references.toml").read_text("utf-8"))
