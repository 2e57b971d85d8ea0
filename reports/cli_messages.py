"""What the commands say about faults and changes."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from audit.dictionary import table
from reports.wording import count

if TYPE_CHECKING:
    from audit.history import Changes
    from audit.intake.faults import Fault
    from reports.word.refresh import Change

MOST_SHOWN = 20


def fault_lines(faults: "Sequence[Fault]") -> str:
    """One line a fault, errors first, and how many there are of each kind."""
    ordered = sorted(faults, key=lambda fault: fault.severity != "error")
    errors = sum(fault.severity == "error" for fault in faults)
    lines = [f"{fault.severity}: {fault}" for fault in ordered]
    return "\n".join([*lines, f"{count(errors, 'error')}, {count(len(faults) - errors, 'warning')}"])


def change_lines(changes: "Changes") -> str:
    """What a load or an undo did: a line a sheet, then the rows that were changed or ended."""
    if changes.is_empty:
        return "Nothing changed: the store holds all of this already."
    lines = [
        f"{table(each.table).title}: {each.added:,} added, {each.changed:,} changed, {each.ended:,} ended, "
        f"{each.unchanged:,} as before"
        for each in changes.tables
    ]
    touched = [row for row in changes.rows if row[2] != "added"]
    lines += [f"  {what}: {table(name).title}, {row}" for name, row, what in touched[:MOST_SHOWN]]
    left = sum(each.changed + each.ended for each in changes.tables) - min(len(touched), MOST_SHOWN)
    if left:
        lines.append(f"  and {left:,} more")
    return "\n".join(lines)


def manuscript_lines(changes: "Sequence[Change]") -> str:
    """What a renewed manuscript says otherwise than before: what changed, where, and old and new words."""
    if not changes:
        return "The manuscript is new, or nothing in it has changed."
    lines = [
        f"{change.kind}: {change.where}: {_cut(change.old)} -> {_cut(change.new)}" for change in changes[:MOST_SHOWN]
    ]
    if len(changes) > MOST_SHOWN:
        lines.append(f"and {len(changes) - MOST_SHOWN:,} more")
    return "\n".join(
        [*lines, f"{count(len(changes), 'change')}, all listed in changes.csv; the text as it was is kept beside it"]
    )


LONGEST = 60


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
