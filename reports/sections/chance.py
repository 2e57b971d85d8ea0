"""What chance alone allows each group around the share of its whole species: a column and a sentence, no ranking."""

from math import ceil, floor

from audit.analyses.take import ChanceLimits, TakeAnswer
from reports import wording
from reports.sections.shares import group_name, known_share


def chance_sentences(answer: TakeAnswer, smallest: int) -> tuple[str, ...]:
    """Which locations lie outside what chance alone allows around the share of their species, if any."""
    limits = [group_limits for what, group_limits in answer.chance if what == "location"]
    if not limits:
        return ()
    groups = {(group.species, group.group): group for group in answer.by_location}
    outside = [
        f"{group_name(groups[group_limits.species, group_limits.group], 'location')} ({known_share(groups[group_limits.species, group_limits.group], smallest)}; "
        f"chance allows {_cell(group_limits, smallest)})"
        for group_limits in limits
        if group_limits.is_outside
    ]
    if outside:
        return (f"Outside what chance alone allows, so look at their cases: {wording.join(outside)}.",)
    return (
        f"None of {wording.count(len(limits), 'group')} by location lies outside what chance alone allows around the share of its "
        "species; that does not show the locations to be alike.",
    )


def chance_cells(answer: TakeAnswer, what: str, smallest: int) -> list[str]:
    """A cell a group of the table by location or by method; empty where no group has limits."""
    limits = {
        (group_limits.species, group_limits.group): group_limits for kind, group_limits in answer.chance if kind == what
    }
    groups = answer.by_location if what == "location" else answer.by_method
    return [_cell(limits.get((group.species, group.group)), smallest) for group in groups] if limits else []


def _cell(group_limits: ChanceLimits | None, smallest: int) -> str:
    if group_limits is None:
        return "not told"
    if group_limits.known >= smallest:
        return f"{wording.percent_range(*group_limits.usual)} ({wording.percent_range(*group_limits.outer)})"
    counts = [
        [ceil(low * group_limits.known - 1e-9), floor(high * group_limits.known + 1e-9)]
        for low, high in (group_limits.usual, group_limits.outer)
    ]
    usual, outer = (f"{low}" if low == high else f"{low} to {high}" for low, high in counts)
    return f"{usual} ({outer}) of {group_limits.known}"


def chance_note(answer: TakeAnswer, what: str) -> tuple[str, ...]:
    """What the limits by location or by method mean; empty where there are none."""
    if not any(kind == what for kind, _ in answer.chance):
        return ()
    return (
        "Chance alone allows: where the group would lie in 95 (in brackets: 99.8) of 100 audits, if it took as its species does "
        "here. Not told for a group that is its whole species, or where all took, or none. Groups are not ranked.",
    )
