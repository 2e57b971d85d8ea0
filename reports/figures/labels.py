"""Words on the figures: labels of codes, heads of panels and the counts beside a row."""

from collections.abc import Iterable
from textwrap import wrap

from audit import codes
from audit.analyses.groups import GroupShare

SPECIES = {species.name: species.plural.capitalize() for species in codes.SPECIES}
GROUPS = {group.name: group.label for group in codes.METHOD_GROUPS} | {"free_graft": "free grafts", "all": "all"}
EXITS = {group.name: group.label for group in codes.EXIT_GROUPS if group.ends_graft}


def label(field: str, code: str) -> str:
    """
    The printed words of a code of a field; of a group of codes, the group's name.

    >>> label("method", "mesh_full"), label("method_group", "piece_graft"), label("location", "foot_pad")
    ('mesh graft, full thickness', 'piece grafts', 'foot pad')
    """
    if field == "method_group":
        return GROUPS.get(code, code.replace("_", " "))
    listed = {entry.name: entry.label for entry in getattr(codes, field.upper(), ())}
    return listed.get(code, code.replace("_", " "))


def species_order(found: Iterable[str]) -> tuple[str, ...]:
    """The species found, dogs first, each once."""
    names = set(found)
    return tuple(name for name in SPECIES if name in names)


def k_of_n(group: GroupShare) -> str:
    """The known counts of a group, and how many are unknown: "7 of 9; 2 unknown"."""
    words = f"{len(group.cases.sure_yes):,} of {group.cases.known:,}" if group.cases.known else "none known"
    unknown = len(group.cases.cannot_tell)
    return f"{words}; {unknown:,} unknown" if unknown else words


def wrapped(words: str, width: int) -> str:
    """
    The words in as few lines of `width` letters as they need, the lines about equally long; "n = 11" is not broken.

    >>> wrapped("Donor sutures out at day 7 to 10", 28)
    'Donor sutures out\\nat day 7 to 10'
    >>> wrapped("Invented 2020, n = 11: graft took", 30)
    'Invented 2020,\\nn = 11: graft took'
    """
    words = words.replace("n = ", "n\u00a0=\u00a0")
    lines = wrap(words, width, break_long_words=False)
    while width > 1 and len(shorter := wrap(words, width - 1, break_long_words=False)) == len(lines):
        lines, width = shorter, width - 1
    return "\n".join(lines).replace("\u00a0", " ")
