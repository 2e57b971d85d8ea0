"""What a check of the audit for a limitation gives back, and how it counts."""

from collections.abc import Callable

from audit.analyses.run import Audit
from reports import wording

Raised = dict[str, tuple[str, str]]
"""For each name in a prompt, the words that stand for it and where in the audit they were read; empty: not raised."""
Check = Callable[[Audit], Raised]


def of(some: int, every: int, word: str) -> str:
    return f"{some:,} of {wording.count(every, word)}"


def cases(audit: Audit) -> int:
    return len(audit.flow.stages[-1].cases)
