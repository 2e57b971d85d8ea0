"""The frozen values that statistics return and that words, tables and figures are made from."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

Span = tuple[float, float]


class Tidy:
    """A result that a notebook shows as a table: `frame` is tidy, one row an estimate, a day or a mass."""

    __slots__ = ()

    @property
    def frame(self) -> "pd.DataFrame":
        """The result as a tidy frame; its columns stand in the docstring of the result."""
        raise NotImplementedError

    def _repr_html_(self) -> str:
        return self.frame.to_html(index=False)


class TidyArrays(Tidy):
    """A dataclass whose arrays, all of one length, are the columns of its frame under their own names."""

    __slots__ = ()

    @property
    def frame(self) -> "pd.DataFrame":
        """One row an entry of the arrays."""
        import pandas as pd

        values = {field.name: getattr(self, field.name) for field in fields(self)}  # type: ignore[arg-type]
        return pd.DataFrame({name: value for name, value in values.items() if getattr(value, "ndim", 0) == 1})


class TidyRow(Tidy):
    """A dataclass of single values, which are the columns of its frame under their own names."""

    __slots__ = ()

    @property
    def frame(self) -> "pd.DataFrame":
        """One row."""
        import pandas as pd

        return pd.DataFrame([{field.name: getattr(self, field.name) for field in fields(self)}])  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate(Tidy):
    """
    One estimate with all that a reader needs to judge it.

    `quantity` says what is estimated, `group` of which group, level or factor, where there are several.
    `value` and `value_to` are equal for a point; they differ where the data only bound the estimate (a healing
    curve inside an innermost interval). `low` and `high` are the interval at `level`. None means that there is no
    such number, and `notes` says why. Shares are fractions of one, times are days.
    """

    quantity: str
    group: str = ""
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

    @property
    def frame(self) -> "pd.DataFrame":
        """One row with `TIDY_COLUMNS`."""
        return tidy([self])


TIDY_COLUMNS = (
    "term", "group", "estimate", "estimate_to", "low", "high", "level", "method", "unit", "events", "n", "animals",
    "unknown",
)  # fmt: skip


def tidy(estimates: Iterable[Estimate]) -> "pd.DataFrame":
    """One row an estimate, with `TIDY_COLUMNS`: term is the quantity, events the numerator, n the denominator."""
    import pandas as pd  # half a second to import, so only for who asks for a frame

    names = ("quantity", "group", "value", "value_to", "low", "high", "level", "method", "unit")
    counts = ("numerator", "denominator", "animals", "unknown")
    rows = [[getattr(estimate, name) for name in (*names, *counts)] for estimate in estimates]
    return pd.DataFrame(rows, columns=list(TIDY_COLUMNS))


@dataclass(frozen=True, slots=True, eq=False)
class Members:
    """
    Cases that belong together: how many, and the codes of those whose store is at hand, sorted.

    A practice's own store gives all codes, a pooled register none. `len` is the number of cases, and to go through it
    is to go through the codes; it equals the plain tuple of its codes.

    >>> Members(2, ("b-A1", "c-A1")) == ("b-A1", "c-A1"), len(Members(1_000_000))
    (True, 1000000)
    """

    count: int
    codes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return self.count

    def __iter__(self) -> Iterator[str]:
        return iter(self.codes)

    def __contains__(self, code: object) -> bool:
        return code in self.codes

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Members):
            return (self.count, self.codes) == (other.count, other.codes)
        return self.codes == other and self.count == len(self.codes)

    def __hash__(self) -> int:
        return hash(self.codes)


def members(*codes: str) -> Members:
    """Those cases, by their codes."""
    return Members(len(codes), tuple(sorted(codes)))


@dataclass(frozen=True, slots=True)
class ThreeWay:
    """
    A yes/no question answered before any model: the cases by what the records can tell.

    `excluded` pairs each reason with the cases left out for it. The four add up to the cases of the store.
    """

    question: str
    sure_yes: Members
    sure_no: Members
    cannot_tell: Members
    excluded: tuple[tuple[str, Members], ...] = ()

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
