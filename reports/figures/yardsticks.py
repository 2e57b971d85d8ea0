"""Our own figures beside every yardstick, a figure for shares, one for days and one for numbers of changes."""

import re
from collections.abc import Sequence
from math import ceil

from audit.analyses.groups import species_place
from audit.analyses.yardsticks import Yardstick, YardstickAnswer
from reports.document import Figure
from reports.figures.forest import Mark, Row, forest, forest_height
from reports.figures.labels import SPECIES, wrapped
from reports.wording import amount, count, percent, share, time

OURS, THEIRS = "our cases, with interval", "yardstick, its range or interval"
DAYS = ("median_days", "first_change", "bandage_gap_early")
CHANGES = ("bandage_changes",)
QUANTITY = {
    "take": "graft took", "complication": "any complication", "major_complication": "major complication or worse",
    "median_days": "median day healed", "healed_by": "healed by then",
}  # fmt: skip
SHARE_BREAKS, SHARE_LABELS = (0, 0.25, 0.5, 0.75, 1), ("0", "25", "50", "75", "100 %")


def yardstick_shares_figure(answer: YardstickAnswer) -> Figure | None:
    """A forest of shares; None where no such yardstick has a value of ours beside it."""
    shares = [stick for stick in _with_own(answer) if stick.quantity not in (*DAYS, *CHANGES)]
    return _figure("yardstick-shares", "Shares beside their yardsticks", "Share of cases", shares, _share_axis())


def yardstick_days_figure(answer: YardstickAnswer) -> Figure | None:
    """A forest of days; None where no such yardstick has a value of ours beside it."""
    days = [stick for stick in _with_own(answer) if stick.quantity in DAYS]
    return _figure("yardstick-days", "Days beside their yardsticks", "Days", days, _axis(days))


def yardstick_changes_figure(answer: YardstickAnswer) -> Figure | None:
    """A forest of numbers of bandage changes; None where no such yardstick has a value of ours beside it."""
    changes = [stick for stick in _with_own(answer) if stick.quantity in CHANGES]
    title = "Bandage changes beside their yardstick"
    return _figure("yardstick-changes", title, "Bandage changes", changes, _axis(changes))


def _with_own(answer: YardstickAnswer) -> list[Yardstick]:
    return [stick for stick in (*answer.target, *answer.rules, *answer.published) if stick.own is not None]


def _figure(
    identifier: str, title: str, axis: str, sticks: list[Yardstick], ticks: tuple[Sequence[float], Sequence[str]]
) -> Figure | None:
    if not sticks:
        return None
    sticks = sorted(sticks, key=lambda stick: species_place(stick.species))
    breaks, tick_labels = ticks
    rows = [_row(stick, breaks[0]) for stick in sticks]
    values = "; ".join(
        f"{SPECIES[stick.species].lower()}, {_name(stick)}: ours {_words(stick)}, {_verdict(stick)}" for stick in sticks
    )
    methods = list(dict.fromkeys(f"{percent(s.own.level)} interval, {s.own.method}" for s in sticks if s.own))
    sources = "; ".join(dict.fromkeys(_source(stick) for stick in sticks))
    return Figure(
        id=identifier,
        title=title,
        description=f"A row a yardstick within species, our value above, the yardstick below. {values}.",
        caption=f"n = {count(len(rows), 'row')}; the cases of each at the right, with the verdict. Ours: "
        f"{'; '.join(methods)}. Yardsticks: {sources}. Definitions differ and stand in the table; a rule of "
        "thumb is not a standard.",
        plot=forest(rows, [OURS, THEIRS], axis=axis, breaks=breaks, tick_labels=tick_labels, note_share=0.36),
        height=forest_height(rows) + 0.08 * len(rows),
    )


def _row(stick: Yardstick, least: float) -> Row:
    low, high = stick.theirs
    marks = []
    if stick.own is not None:
        marks.append(Mark.of(OURS, stick.own))
    if low is not None or high is not None or stick.theirs_point is not None:
        bottom = least if low is None and high is not None else low
        marks.append(Mark(THEIRS, stick.theirs_point, stick.theirs_point, bottom, high))
    return Row(SPECIES[stick.species], wrapped(_name(stick), 30), f"{_cases(stick)}\n{_verdict(stick)}", tuple(marks))


def _name(stick: Yardstick) -> str:
    if stick.kind != "published":
        return stick.name
    authors, year = stick.name.split(". ")[0], re.search(r"\b(19|20)\d\d\b", stick.name)
    first = authors if authors == "Authors not seen" else authors.split()[0].rstrip(",")
    who = f"{first} {year.group() if year else ''}".strip()
    size = f", n = {stick.theirs_n:,}" if stick.theirs_n is not None else ""
    return f"{who}{size}: {QUANTITY.get(stick.quantity, stick.quantity.replace('_', ' '))}"


def _source(stick: Yardstick) -> str:
    return {
        "rule_of_thumb": "rules of thumb, common practice, no source",
        "published": "published figures as read in the abstract, intervals computed here or printed ranges",
    }.get(stick.kind, "the target of the protocol")


def _cases(stick: Yardstick) -> str:
    own = stick.own
    if own is not None and own.numerator is not None and own.denominator is not None:
        least, most = own.numerator, own.numerator + own.unknown
        return f"{least:,} of {own.denominator:,}" if least == most else f"{least:,} to {most:,} of {own.denominator:,}"
    return f"n = {len(stick.cases):,}"


def _words(stick: Yardstick) -> str:
    assert stick.own is not None
    if stick.quantity == "median_days":
        return time(stick.own)
    return amount(stick.own) if stick.quantity in (*DAYS, *CHANGES) else share(stick.own)


def _verdict(stick: Yardstick) -> str:
    return stick.verdict.word if stick.verdict else "side by side, not judged"


def _share_axis() -> tuple[Sequence[float], Sequence[str]]:
    return SHARE_BREAKS, SHARE_LABELS


def _axis(sticks: list[Yardstick]) -> tuple[Sequence[float], Sequence[str]]:
    ends = [end for s in sticks if s.own for end in (s.own.value, s.own.value_to, s.own.low, s.own.high, *s.theirs)]
    top = max((end for end in ends if end is not None), default=1.0)
    step = next(s for s in (1, 2, 5, 7, 14, 28, 56, 112, 365) if top / s <= 6 or s == 365)
    breaks = [step * i for i in range(max(ceil(top / step), 1) + 1)]
    return breaks, [f"{b:,}" for b in breaks]
