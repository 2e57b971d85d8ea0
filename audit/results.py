"""The frozen values that statistics return and that words, tables and figures are made from."""

from dataclasses import dataclass

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Estimate:
    """
    One estimate with all that a reader needs to judge it.

    `value` and `value_to` are equal for a point; they differ where the data only bound the estimate (a healing
    curve inside an innermost interval). `low` and `high` are the interval at `level`. None means that there is no
    such number, and `notes` says why. Shares are fractions of one, times are days.
    """

    quantity: str
    value: float | None
    value_to: float | None
    low: float | None
    high: float | None
    level: float
    method: str
    unit: str
    numerator: int | None = None
    denominator: int | None = None
    animals: int | None = None
    unknown: int = 0
    notes: tuple[str, ...] = ()

    @property
    def is_point(self) -> bool:
        """True where the data settle the estimate to one value."""
        return self.value is not None and self.value == self.value_to


@dataclass(frozen=True, slots=True)
class ThreeWay:
    """
    A yes/no question answered before any model: case codes by what the records can tell.

    `excluded` pairs each left-out case with its reason. The four groups add up to the cases asked about.
    """

    question: str
    sure_yes: tuple[str, ...]
    sure_no: tuple[str, ...]
    cannot_tell: tuple[str, ...]
    excluded: tuple[tuple[str, str], ...] = ()

    @property
    def asked(self) -> int:
        """Cases that the question was put to, the unknown included."""
        return len(self.sure_yes) + len(self.sure_no) + len(self.cannot_tell)

    @property
    def known(self) -> int:
        """Cases with a sure answer."""
        return len(self.sure_yes) + len(self.sure_no)

    @property
    def bounds(self) -> Span | None:
        """Share if every cannot-tell were no, and if every one were yes; None where nothing was asked."""
        if not self.asked:
            return None
        return len(self.sure_yes) / self.asked, (len(self.sure_yes) + len(self.cannot_tell)) / self.asked
