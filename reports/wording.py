"""Numbers into words: every number in a sentence or a table is worded here, so that two places cannot differ."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite

from audit.results import Estimate, ThreeWay


def number(value: float, places: int = 0) -> str:
    """
    The number with so many decimal places, halves away from zero, thousands set off, a true minus sign.

    >>> number(0.125, 2), number(12345.5), number(-0.2), number(-4)
    ('0.13', '12,346', '0', '−4')
    """
    # Rounding to 9 places first takes off the noise of binary fractions: 0.145 * 100 is 14.499999999999998.
    exact = Decimal(str(round(value, 9))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    return f"{exact:,f}".replace("-", "−") if exact else f"{abs(exact):f}"


def plural(word: str, count: float) -> str:
    """
    The noun as its count asks.

    >>> plural("case", 1), plural("biopsy", 2), plural("day", 0), plural("loss", 2)
    ('case', 'biopsies', 'days', 'losses')
    """
    if count == 1:
        return word
    if word.endswith("y") and word[-2:-1] not in "aeiou":
        return f"{word[:-1]}ies"
    return f"{word}es" if word.endswith(("s", "x", "ch", "sh")) else f"{word}s"


def count(cases: int, word: str) -> str:
    """
    The count and its noun.

    >>> count(1, "graft"), count(0, "graft"), count(1204, "visit")
    ('1 graft', '0 grafts', '1,204 visits')
    """
    return f"{cases:,} {plural(word, cases)}"


def join(items: Sequence[str], last: str = "and") -> str:
    """
    The items as a list in a sentence.

    >>> join(["dogs"]), join(["dogs", "cats"], "or"), join(["a", "b", "c"])
    ('dogs', 'dogs or cats', 'a, b and c')
    """
    *rest, final = items or ("none",)
    return f"{', '.join(rest)} {last} {final}" if rest else final


def percent(share: float, *, sign: bool = True) -> str:
    """
    A share of one in whole per cent, with a decimal only where it would else read as none or all.

    >>> percent(13 / 16), percent(0.996), percent(0.0002), percent(1), percent(0.07, sign=False)
    ('81 %', '99.6 %', 'under 0.1 %', '100 %', '7')
    """
    # Masses of a curve add up to one only within rounding.
    scaled = round(share * 100, 5)
    words = number(scaled)
    if words in ("0", "100") and scaled not in (0, 100):
        words = number(scaled, 1)
        if words in ("0.0", "100.0"):
            words = "under 0.1" if scaled < 50 else "over 99.9"
    return f"{words} %" if sign else words


def percent_range(low: float, high: float) -> str:
    """
    Two shares as a range, or as one where they read the same.

    >>> percent_range(0.57, 0.93), percent_range(0.5, 0.501)
    ('57 to 93 %', '50 %')
    """
    first, second = percent(low, sign=False), percent(high, sign=False)
    return f"{second} %" if first == second else f"{first} to {second} %"


def day(value: float) -> str:
    """
    A day counted from surgery; half days only where they are.

    >>> day(26), day(26.5)
    ('day 26', 'day 26.5')
    """
    return f"day {_short(value)}"


def day_range(low: float | None, high: float | None) -> str:
    """
    Two days as a range; None (or infinity) is an end that nobody saw.

    >>> day_range(21, 35), day_range(26, None), day_range(None, 30), day_range(None, None), day_range(14, 14)
    ('day 21 to 35', 'day 26 or later', 'up to day 30', 'not known', 'day 14')
    """
    low, high = _known(low), _known(high)
    if low is None:
        return "not known" if high is None else f"up to {day(high)}"
    if high is None:
        return f"{day(low)} or later"
    return day(low) if low == high else f"{day(low)} to {_short(high)}"


def p_value(p: float) -> str:
    """
    The p-value itself, not whether it passed a mark. Raises ValueError outside 0 to 1.

    >>> p_value(0.0312), p_value(0.2749), p_value(0.00004), p_value(0.999)
    ('p = 0.031', 'p = 0.27', 'p < 0.001', 'p > 0.99')
    """
    if not 0 <= p <= 1:
        raise ValueError(f"{p} is no p-value; it must lie between 0 and 1")
    if p < 0.001:
        return "p < 0.001"
    return "p > 0.99" if p > 0.99 else f"p = {number(p, 3 if p < 0.0995 else 2)}"


def share(estimate: Estimate, smallest: int = 10) -> str:
    """
    A share in words: how many of how many, the percentage and its interval; counts alone below `smallest` cases.

    Where the records leave the share open it is a range. A share that is not its plain count (read from a curve)
    comes first, and the sure cases after it. The cases that cannot be told stand at the end.
    """
    sure, cases = estimate.numerator, estimate.denominator
    if not cases:
        return "no cases to count"
    unknown = f"; {estimate.unknown:,} cannot be told" if estimate.unknown else ""
    counted = "" if sure is None else f"{sure:,} of {cases:,}"
    if cases < smallest or estimate.value is None:
        return f"{counted or f'{cases:,} in all, no percentage'}{unknown}"
    value_to = estimate.value if estimate.value_to is None else estimate.value_to
    estimated, around = percent_range(estimate.value, value_to), share_interval(estimate)
    if sure is None:
        return f"{estimated} of {cases:,} ({around}){unknown}"
    if estimate.value - 0.005 <= sure / cases <= value_to + 0.005:
        return f"{counted} ({estimated}, {around}){unknown}"
    return f"{estimated} of {cases:,} ({around}; {sure:,} for sure{unknown})"


def share_interval(estimate: Estimate) -> str:
    """The interval of a share in words: "95 % interval 57 to 93 %"."""
    low, high = _known(estimate.low), _known(estimate.high)
    if low is None or high is None:
        return f"no {percent(estimate.level)} interval"
    return f"{percent(estimate.level)} interval {percent_range(low, high)}"


def ends(estimate: Estimate) -> str:
    """The interval of a share alone, for a column whose head tells its level: "57 to 93 %"."""
    if _known(estimate.low) is None or _known(estimate.high) is None:
        return "no interval"
    assert estimate.low is not None
    assert estimate.high is not None
    return percent_range(estimate.low, estimate.high)


def time(estimate: Estimate) -> str:
    """
    A day in words with its interval: "day 26 (95 % interval day 21 to 35)"; "not reached" where there is none.

    Where visits only bound the day it reads "between day 21 and day 26", or "day 26 or later".
    """
    first, last = _known(estimate.value), _known(estimate.value_to)
    if first is None:
        found = "not reached" if last is None else f"by {day(last)}"
    elif last is None:
        found = f"{day(first)} or later"
    else:
        found = day(first) if first == last else f"between {day(first)} and {day(last)}"
    return f"{found} ({_interval(estimate, day_range)})"


def amount(estimate: Estimate, unit: str = "", places: int = 1) -> str:
    """
    Any other estimate (a mean, a difference, a rate) with its interval, in `unit`.

    >>> from audit.stats.median import median_interval
    >>> amount(median_interval([7, 8, 8, 9, 10, 11, 12, 12], quantity="changes"), "changes")
    '9.5 changes (95 % interval 7.0 to 12.0)'
    """
    if _known(estimate.value) is None:
        return "no estimate"
    found = number_range(estimate.value, estimate.value_to, places)
    around = _interval(estimate, lambda low, high: number_range(low, high, places))
    return f"{found}{f' {unit}' if unit else ''} ({around})"


def points(estimate: Estimate) -> str:
    """
    A difference of two shares in percentage points, with its interval.

    >>> from audit.stats.proportions import clopper_pearson, newcombe_difference
    >>> points(newcombe_difference(clopper_pearson(17, 20), clopper_pearson(22, 30)))
    '12 percentage points (95 % interval −15 to 34)'
    """
    ends = (estimate.value, estimate.value_to, estimate.low, estimate.high)
    value, value_to, low, high = (None if end is None else end * 100 for end in ends)
    scaled = replace(estimate, value=value, value_to=value_to, low=low, high=high)
    return amount(scaled, "percentage points", places=0)


def middle(quartiles: tuple[float, float, float], cases: int, unit: str = "", places: int = 1) -> str:
    """
    Lower quartile, median and upper quartile of measured values, and how many there are; never a mean of a skewed few.

    >>> middle((2.0, 3.5, 7.1), 41, "years"), middle((4.0, 6.0, 9.0), 12)
    ('3.5 years (IQR 2.0 to 7.1; n = 41)', '6 (IQR 4 to 9; n = 12)')
    """
    shown = 0 if all(float(value).is_integer() for value in quartiles) else places
    low, median, high = (number(value, shown) for value in quartiles)
    return f"{median}{f' {unit}' if unit else ''} (IQR {low} to {high}; n = {cases:,})"


def bounds(answer: ThreeWay, smallest: int = 10) -> str:
    """
    What the share can be, whichever way the cases fell that cannot be told.

    >>> bounds(ThreeWay("took", ("a",) * 13, ("b",) * 3, ("c",) * 2))
    'between 13 and 15 of 18 (72 to 83 %), as 2 cannot be told'
    >>> bounds(ThreeWay("took", ("a",) * 4, ("b",), ()))
    '4 of 5, none in doubt'
    """
    if answer.bounds is None:
        return "no cases to count"
    sure, doubt = len(answer.sure_yes), len(answer.cannot_tell)
    share_words = "" if answer.asked < smallest else f" ({percent_range(*answer.bounds)})"
    if not doubt:
        return f"{sure:,} of {answer.asked:,}{share_words}, none in doubt"
    return f"between {sure:,} and {sure + doubt:,} of {answer.asked:,}{share_words}, as {doubt:,} cannot be told"


def sentence(text: str) -> str:
    """
    The words with a capital and a full stop.

    >>> sentence("the median was not reached"), sentence("Why?")
    ('The median was not reached.', 'Why?')
    """
    text = text.strip()
    return text if not text else f"{text[0].upper()}{text[1:]}{'' if text[-1] in '.?!' else '.'}"


def _interval(estimate: Estimate, words: Callable[[float | None, float | None], str]) -> str:
    level = percent(estimate.level)
    if _known(estimate.low) is None and _known(estimate.high) is None:
        return f"no {level} interval"
    return f"{level} interval {words(estimate.low, estimate.high)}"


def _known(value: float | None) -> float | None:
    return None if value is None or not isfinite(value) else value


def number_range(low: float | None, high: float | None, places: int = 0) -> str:
    """
    Two numbers as a range, or as one where they read the same; None (or infinity) is an end that is not known.

    >>> number_range(90, 100), number_range(90.2, 90.4), number_range(1.5, None, 1)
    ('90 to 100', '90', '1.5 or more')
    """
    low, high = _known(low), _known(high)
    if low is None:
        return "not known" if high is None else f"up to {number(high, places)}"
    if high is None:
        return f"{number(low, places)} or more"
    first, second = number(low, places), number(high, places)
    return first if first == second else f"{first} to {second}"


def _short(value: float) -> str:
    return number(value, 0 if float(value).is_integer() else 1)
