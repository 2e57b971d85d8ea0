"""Limitations that the data of this audit raise: a prompt for the author, who alone can weigh them."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from audit.analyses.run import Audit
from reports.prose import Fact, Inline
from reports.write_up.limitations import by_cases, by_results
from reports.write_up.limitations.checks import Raised
from reports.write_up.phrases import prose

CHECKS = by_cases.CHECKS | by_results.CHECKS


@dataclass(frozen=True, slots=True)
class Limitation:
    """One prompt: why it is raised here, with this series' own numbers as facts, and what the author should discuss."""

    key: str
    raised_by: tuple[Inline, ...]
    asks: str


def limitations(audit: Audit) -> tuple[Limitation, ...]:
    """
    The limitations that apply to this audit, in the order of the catalogue.

    Facts have the identifier "limitation-<key>-<name>"; every figure stands in one.
    """
    chosen = audit.protocol.protocol.series == "outcome_selected"
    return tuple(
        Limitation(key, _facts_in(key, words["raised"], found), words["asks"])
        for key, words in catalogue().items()
        if not (chosen and key in by_results.NEED_RISKS) and (found := CHECKS[key](audit))
    )


@cache
def catalogue() -> dict[str, dict[str, str]]:
    """For each limitation that can be raised, the words of its prompt."""
    return tomllib.loads((files("reports.write_up.limitations") / "limitations.toml").read_text("utf-8"))


def _facts_in(key: str, raised: str, found: Raised) -> tuple[Inline, ...]:
    facts = {name: Fact(f"limitation-{key}-{name}", text, source) for name, (text, source) in found.items()}
    return prose(raised, **facts)
