"""
A result against a benchmark: a verdict in words, and how many cases would tell.

For a coming verb: `cases_for_half_width` (size).
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, sqrt
from typing import TYPE_CHECKING

from scipy.stats import norm

from audit.errors import AuditError
from audit.results import Estimate, Span, Tidy, tidy
from audit.stats import checked

if TYPE_CHECKING:
    import pandas as pd


CONSISTENT = "consistent with"
CANNOT_TELL = "cannot tell"
SHARE_WORDS = ("lower", "higher")
DAY_WORDS = ("shorter", "longer")
TOO_MANY = 10_000_000


@dataclass(frozen=True, slots=True)
class Verdict(Tidy):
    """
    One of the two words, "consistent with" or "cannot tell", for an estimate against benchmark and margin.

    `cases_to_tell` is about how many cases like these would settle a "cannot tell" if the estimate stayed as it is;
    None where the verdict is told, where no number of cases would do, or where the data only bound the estimate.
    """

    word: str
    estimate: Estimate
    benchmark: Span
    margin: float
    cases_to_tell: int | None

    @property
    def frame(self) -> "pd.DataFrame":
        """One row: the columns of the estimate, then verdict, benchmark_low, benchmark_high, margin, cases_to_tell."""
        low, high = self.benchmark
        return tidy([self.estimate]).assign(
            verdict=self.word,
            benchmark_low=low,
            benchmark_high=high,
            margin=self.margin,
            cases_to_tell=self.cases_to_tell,
        )


def verdict(
    estimate: Estimate,
    benchmark: float | Span,
    margin: float,
    *,
    words: tuple[str, str] = SHARE_WORDS,
) -> Verdict:
    """
    Where the interval lies against benchmark less margin to benchmark plus margin; `words` say below and above.

    Wholly beyond: the word for that side; wholly within: "consistent with"; otherwise, or without an interval, "cannot
    tell". The margin is in the units of the estimate and is declared before the data are seen; a benchmark given
    as a span counts from both its ends. Raises AuditError for a negative margin or a reversed span.

    >>> from audit.stats.proportions import clustered_share
    >>> verdict(clustered_share([1, 0], [1, 1], weight=[27, 3]).estimate, 0.7, 0.02).word
    'higher'
    """
    low_mark, high_mark = benchmark if isinstance(benchmark, tuple) else (benchmark, benchmark)
    if not (margin >= 0 and low_mark <= high_mark):
        raise AuditError(
            f"benchmark {benchmark} with margin {margin:g}",
            "give the lower end first and a margin of 0 or more",
            joint=": ",
        )
    floor, ceiling = low_mark - margin, high_mark + margin
    below, above = words
    if estimate.low is None or estimate.high is None:
        word = CANNOT_TELL
    elif estimate.low > ceiling:
        word = above
    elif estimate.high < floor:
        word = below
    elif floor <= estimate.low and estimate.high <= ceiling:
        word = CONSISTENT
    else:
        word = CANNOT_TELL
    cases = _cases_to_tell(estimate, floor, ceiling) if word == CANNOT_TELL else None
    return Verdict(word, estimate, (low_mark, high_mark), margin, cases)


def _cases_to_tell(estimate: Estimate, floor: float, ceiling: float) -> int | None:
    value = estimate.value
    if not estimate.is_point or value is None or estimate.low is None or estimate.high is None:
        return None
    distance = min(abs(value - floor), abs(value - ceiling))
    if distance < 1e-9:
        return None
    if estimate.numerator is not None and estimate.denominator and 0 <= value <= 1:
        z = float(norm.ppf((1 + estimate.level) / 2))
        independent = _first(lambda cases: not any(_inside(mark, value, cases, z) for mark in (floor, ceiling)))
        # An interval wider than Wilson's is one of clustered cases: it takes so many more of them.
        wider = (estimate.high - estimate.low) / (2 * _half_width(value, estimate.denominator, z))
        enough = max(estimate.denominator + 1, ceil(independent * max(1.0, wider**2)))
    elif estimate.animals:
        # The width of an interval falls with the square root of the number of animals.
        reach = max(estimate.high - value, value - estimate.low)
        enough = max(estimate.animals + 1, ceil(estimate.animals * (reach / distance) ** 2))
    else:
        return None
    return enough if enough < TOO_MANY else None


def _half_width(share: float, cases: int, z: float) -> float:
    return z * sqrt(share * (1 - share) / cases + z**2 / (4 * cases**2)) / (1 + z**2 / cases)


def _inside(mark: float, share: float, cases: int, z: float) -> bool:
    """Whether the Wilson interval of this share holds the mark: it does unless the score test rejects it."""
    return cases * (share - mark) ** 2 <= z**2 * mark * (1 - mark)  # never for a mark outside 0 to 1


def cases_for_half_width(share: float, half_width: float, *, level: float = 0.95) -> int:
    """
    Fewest independent cases with which half the Wilson interval around this share is no more than `half_width`.

    For several grafts an animal multiply by the design effect. Raises AuditError where over ten million would not do.

    >>> cases_for_half_width(0.9, 0.1)
    37
    """
    checked.level(level)
    if not (0 <= share <= 1 and half_width > 0):
        raise AuditError(
            f"share {share:g}, half-width {half_width:g}",
            "give a share from 0 to 1 and a half-width above 0",
            joint=": ",
        )
    z = float(norm.ppf((1 + level) / 2))
    cases = _first(lambda cases: _half_width(share, cases, z) <= half_width)
    if cases > TOO_MANY:
        raise AuditError(f"a half-width of {half_width:g} takes over {TOO_MANY:,} cases", "ask for a wider interval")
    return cases


def _first(holds: Callable[[int], bool]) -> int:
    """Smallest number from which on `holds`, by doubling and halving; above TOO_MANY where none up to it does."""
    high = 1
    while high < TOO_MANY and not holds(high):
        high *= 2
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high
