"""Tables and ledgers of shares: every share with its sure, unsure and left-out cases."""

from collections.abc import Sequence

from audit.analyses.groups import GroupShare
from audit.results import ThreeWay
from reports import wording
from reports.document import Column, Ledger, Table
from reports.figures.labels import SPECIES, label

MOST_REASONS = 4


def group_name(group: GroupShare, field: str) -> str:
    """Species and group in words: "Dogs: mesh graft, full thickness"."""
    species = SPECIES.get(group.species, group.species)
    return species if group.group == "all" else f"{species}: {label(field, group.group)}"


def share_table(
    identifier: str,
    title: str,
    groups: Sequence[GroupShare],
    field: str,
    smallest: int,
    *,
    extra: Sequence[tuple[str, Sequence[str]]] = (),
    notes: tuple[str, ...] = (),
) -> Table:
    """One row a group: asked, yes, no, cannot tell, the share among the known with its interval, and the bounds."""
    rows = []
    for i, group in enumerate(groups):
        cases = group.cases
        cells = [group_name(group, field), str(cases.asked), str(len(cases.sure_yes)), str(len(cases.sure_no))]
        cells += [str(len(cases.cannot_tell)), known_share(group, smallest), bounds_cell(cases, smallest)]
        rows.append((*cells, *(values[i] for _, values in extra)))
    counts = [Column(name, align="right") for name in ("Asked", "Yes", "No", "Cannot tell")]
    columns = (Column("Group"), *counts, Column("Of the known"), Column("Bounds"), *(Column(n) for n, _ in extra))
    level = next((wording.percent(g.share.estimate.level) for g in groups if g.share), "")
    few = f"In brackets: {level} interval. Fewer than {smallest} known cases: counts, no percentage." if level else ""
    return Table(identifier, title, columns, tuple(rows), tuple(filter(None, (few, *notes))))


def known_share(group: GroupShare, smallest: int) -> str:
    """The share among the known cases: a percentage with its interval, or counts where there are few."""
    if group.share is None:
        return "none known"
    estimate = group.share.estimate
    interval = wording.ends(estimate)
    if group.cases.known < smallest or estimate.value is None:
        return f"{len(group.cases.sure_yes)} of {group.cases.known} ({interval})"
    return f"{wording.percent(estimate.value)} ({interval})"


def bounds_cell(cases: ThreeWay, smallest: int) -> str:
    """Least and greatest the share can be, whichever way the cannot-tell cases fell."""
    least, most = len(cases.sure_yes), len(cases.sure_yes) + len(cases.cannot_tell)
    if not cases.asked:
        return "nothing asked"
    if cases.asked < smallest:
        return f"{least} of {cases.asked}" if least == most else f"{least} to {most} of {cases.asked}"
    return wording.percent_range(least / cases.asked, most / cases.asked)


def share_ledger(group: GroupShare, field: str, title: str, words: tuple[str, str] = ("yes", "no")) -> Ledger:
    """The case codes of one group: yes, no, cannot tell, and each reason for leaving out."""
    groups = (
        (words[0], group.cases.sure_yes),
        (words[1], group.cases.sure_no),
        ("cannot tell", group.cases.cannot_tell),
        *((f"left out: {reason}", cases) for reason, cases in group.cases.excluded),
    )
    return Ledger(f"{title}: {group_name(group, field)}", groups)


def unknown_sentence(groups: Sequence[GroupShare]) -> tuple[str, ...]:
    """Why cases could not be told, over all groups, the commonest reason first; empty when none."""
    total: dict[str, int] = {}
    for group in groups:
        for reason, number in group.reasons:
            total[reason] = total.get(reason, 0) + number
    if not total:
        return ()
    if len(total) > MOST_REASONS:
        return (f"Cannot tell: {sum(total.values())}, each for its own reason.",)
    ordered = sorted(total.items(), key=lambda item: (-item[1], item[0]))
    return (f"Cannot tell: {'; '.join(f'{number} {reason}' for reason, number in ordered)}.",)
