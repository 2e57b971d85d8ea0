"""Published figures that ship with the project: what was counted, in whom, how it differs, and how far it was read."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from operator import attrgetter
from typing import Any

from audit.errors import AuditError
from audit.results import Estimate
from audit.stats.proportions import clopper_pearson

COUNTERPARTS: dict[str, Callable[[Any], Any]] = {
    "take": attrgetter("take.by_method_group"),
    "median_days": attrgetter("healing.by_method"),
    "complication": attrgetter("complications.by_method"),
    "major_complication": attrgetter("complications.major_by_method"),
}
"""Each quantity that a published figure may have, and where our answers hold what it is held against."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedFigure:
    """
    A share as numerator of denominator, or a median in days with the printed range.

    Raises AuditError for a quantity that none of our answers can be held against.
    """

    source: str
    group: str
    species: str
    method_group: str
    quantity: str
    denominator: int
    unit: str
    definition: str
    differs: str
    read: str
    numerator: int | None = None
    value: float | None = None
    low: float | None = None
    high: float | None = None
    threshold_pct: float | None = None

    def __post_init__(self) -> None:
        if self.quantity not in COUNTERPARTS:
            raise AuditError(
                f"{self.source}: no answer of ours can be held against {self.quantity!r}; "
                f"a published figure is of {', '.join(COUNTERPARTS)}"
            )

    def share(self, level: float) -> Estimate | None:
        """The printed share with its Clopper-Pearson interval, as if its cases were independent; None for a median."""
        if self.numerator is None:
            return None
        return clopper_pearson(self.numerator, self.denominator, quantity=self.quantity, unit=self.unit, level=level)


@cache
def published_figures() -> tuple[PublishedFigure, ...]:
    """
    The figures, in the order of the file.

    >>> [f.numerator for f in published_figures() if "Bonaventura" in f.source]
    [27, 18]
    """
    text = (files("audit") / "published.toml").read_text("utf-8")
    return tuple(PublishedFigure(**figure) for figure in tomllib.loads(text)["figure"])
