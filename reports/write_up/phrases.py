"""Sentences with places for facts, and the phrases that several parts of the paper share."""

import re
from collections.abc import Collection, Sequence

from audit.analyses.groups import GroupShare
from reports import wording
from reports.figures.labels import SPECIES
from reports.prose import Fact, Inline, Paragraph, See
from reports.write_up.evidence import Evidence

PLACE = re.compile(r"\{([a-z_]+)\}")


def prose(words: str, /, **parts: Inline | Sequence[Inline]) -> tuple[Inline, ...]:
    """
    The words with each {place} filled by its part or parts; empty text is dropped.

    >>> prose("In {who}, none.", who="dogs")
    ('In ', 'dogs', ', none.')
    """
    inlines: list[Inline] = []
    for n, piece in enumerate(PLACE.split(words)):
        part = parts[piece] if n % 2 else piece
        inlines += part if isinstance(part, Sequence) and not isinstance(part, str) else [part]
    return tuple(part for part in inlines if part != "")


def paragraph(words: str, /, **parts: Inline | Sequence[Inline]) -> Paragraph:
    """A paragraph of prose."""
    return Paragraph(prose(words, **parts))


def fact(identifier: str, text: str, *sources: str) -> Fact:
    """A fact read at one or more places of the evidence."""
    return Fact(identifier, text, " ".join(sources))


def see(shown: Collection[str], *targets: str) -> tuple[Inline, ...]:
    """Those of the tables and figures that are shown, in brackets behind a sentence."""
    parts: list[Inline] = []
    for target in targets:
        if target in shown:
            parts += [", " if parts else " (", See(target)]
    return (*parts, ")") if parts else ()


def within(species: str) -> str:
    """The species within a sentence: "dogs"."""
    return SPECIES[species].lower()


def share_known(evidence: Evidence, identifier: str, path: str, group: GroupShare, noun: str) -> tuple[Inline, ...]:
    """The share among the known cases of one group, and what the unknown could change; counts alone without risks."""
    cases, sources = group.cases, (path, f"{path}.cases")
    yes, unknown = len(cases.sure_yes), len(cases.cannot_tell)
    if group.share is None:
        asked = fact(f"{identifier}-asked", wording.count(cases.asked, noun), *sources)
        return prose("an unknown number of {asked} (no result is known)", asked=asked)
    words = f"{yes} of {cases.known}"
    if evidence.risks:
        words = wording.share(group.share.estimate, evidence.smallest)
        if cases.known < evidence.smallest:
            words = f"{words} ({wording.share_interval(group.share.estimate)})"
    known = prose(
        "{share} {nouns} with a known result",
        share=fact(identifier, words, *sources),
        nouns=wording.plural(noun, cases.known),
    )
    if not unknown:
        return known
    bounds = f"between {yes} and {yes + unknown} of {cases.asked}"
    return known + prose(
        " ({unknown} more cannot be told, so {bounds})",
        unknown=fact(f"{identifier}-unknown", str(unknown), *sources),
        bounds=fact(f"{identifier}-bounds", bounds, *sources),
    )
