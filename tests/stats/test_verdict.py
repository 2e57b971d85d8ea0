from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from published import published
from visits import wilson

from audit.errors import AuditError
from audit.results import Estimate
from audit.stats.proportions import clustered_share
from audit.stats.verdict import DAY_WORDS, cases_for_half_width, verdict

MARK = st.floats(0, 1)


def interval(low, high, value=None, animals=20):
    value = (low + high) / 2 if value is None else value
    return Estimate(
        quantity="share",
        value=value,
        value_to=value,
        low=low,
        high=high,
        level=0.95,
        method="Wilson",
        unit="animals",
        animals=animals,
    )


@pytest.mark.parametrize(
    ("low", "high", "word"),
    [
        (0.86, 0.95, "higher"),
        (0.85, 0.95, "cannot tell"),
        (0.76, 0.84, "consistent with"),
        (0.75, 0.85, "consistent with"),
        (0.70, 0.84, "cannot tell"),
        (0.60, 0.74, "lower"),
        (0.50, 0.99, "cannot tell"),
    ],
)
def test_word_follows_the_rule(low, high, word):
    assert verdict(interval(low, high), 0.8, 0.05).word == word


@settings(deadline=None)
@given(MARK, MARK, MARK, MARK, st.floats(0, 0.3))
def test_a_wider_interval_never_tells_more_and_mirrors(a, b, mark, wider, margin):
    low, high = min(a, b), max(a, b)
    told = verdict(interval(low, high), mark, margin).word
    widened = verdict(interval(low - wider, high + wider), mark, margin).word
    assert widened in {told, "cannot tell"}
    mirror = {"higher": "lower", "lower": "higher"}
    assert verdict(interval(-high, -low), -mark, margin).word == mirror.get(told, told)


@given(st.floats(0.1, 0.9), st.floats(0.1, 0.9))
def test_a_wide_interval_says_cannot_tell_whatever_the_point(value, mark):
    assert verdict(interval(0, 1, value), mark, 0.05).word == "cannot tell"


def test_a_span_counts_from_both_its_ends():
    assert verdict(interval(0.74, 0.86), (0.75, 0.85), 0.02).word == "consistent with"
    assert verdict(interval(0.74, 0.86), 0.8, 0.02).word == "cannot tell"


def test_days_have_their_own_words_and_no_interval_cannot_tell():
    assert verdict(interval(14, 18), 25, 3, words=DAY_WORDS).word == "shorter"
    assert verdict(interval(29, 40), 25, 3, words=DAY_WORDS).word == "longer"
    unknown = Estimate(
        quantity="median", value=None, value_to=None, low=14, high=None, level=0.95, method="none", unit="animals"
    )
    assert verdict(unknown, 25, 3, words=DAY_WORDS).word == "cannot tell"


# Cochran WG. Sampling Techniques, 1977, section 4.4: n = z^2 p q / d^2. At p = 0.5 Wilson's half-width d asks for
# exactly z^2 fewer: d = (z / 2) / sqrt(n + z^2).
def test_cases_for_a_half_width_near_cochran():
    case = published("benchmark", "ss-proportion-precision")
    cochran = case.value("n")
    assert cases_for_half_width(0.5, 0.05) == int(np.ceil(cochran[0] - 1.959963984540054**2))
    assert [cases_for_half_width(0.9, d) for d in (0.05, 0.1)] == pytest.approx(cochran[1:], rel=0.08)


def test_cases_to_tell_would_tell():
    found = verdict(wilson(18, 20), 0.75, 0.05)
    assert found.word == "cannot tell"
    n = found.cases_to_tell
    enough, too_few = 10 * -(-n // 10), 10 * (n // 10)
    assert verdict(wilson(round(0.9 * enough), enough), 0.75, 0.05).word == "higher"
    assert verdict(wilson(round(0.9 * too_few), too_few), 0.75, 0.05).word == "cannot tell"
    assert verdict(wilson(27, 30), 0.95, 0.05).cases_to_tell is None
    unsure = verdict(interval(16, 34, 22, animals=10), 30, 2, words=DAY_WORDS)
    assert unsure.cases_to_tell == 40


def test_more_cases_are_always_asked_for_than_there_are():
    """Touching the edge of the margin is not telling, so one case more is the least."""
    touching = verdict(interval(16, 28, 22, animals=10), 30, 2, words=DAY_WORDS)
    assert (touching.word, touching.cases_to_tell) == ("cannot tell", 11)


def test_clustered_cases_take_more_to_tell():
    single = verdict(wilson(36, 40), 0.8, 0.02)
    clustered = verdict(clustered_share([5, 5, 5, 5, 5, 5, 5, 1], [5] * 8).estimate, 0.8, 0.02)
    assert single.word == clustered.word == "cannot tell"
    assert clustered.cases_to_tell > 2 * single.cases_to_tell


@given(st.floats(0.02, 0.98), st.integers(2, 40))
def test_half_width_falls_with_cases(share, step):
    wide, narrow = cases_for_half_width(share, 0.2), cases_for_half_width(share, 0.2 / step)
    assert narrow >= wide
    estimates = [wilson(round(share * n), n) for n in (20, 200, 2000)]
    assume(all(0 < estimate.value < 1 for estimate in estimates))
    assert all(a.high - a.low > b.high - b.low for a, b in pairwise(estimates))


def test_impossible_requests_are_refused():
    with pytest.raises(AuditError, match="margin -1"):
        verdict(interval(0, 1), 0.5, -1)
    with pytest.raises(AuditError, match="lower end first"):
        verdict(interval(0, 1), (0.6, 0.5), 0.1)
    with pytest.raises(AuditError, match="half-width 0"):
        cases_for_half_width(0.5, 0)


def test_cases_to_tell_are_those_of_the_score_test():
    # 0.9 against 0.75 and a margin of 0.05: n (0.9 - 0.8)^2 > 1.96^2 x 0.8 x 0.2 first holds at 62 cases.
    independent = wilson(18, 20)
    assert verdict(independent, 0.75, 0.05).cases_to_tell in (62, 63)  # the widths agree but for the last digit
    # An interval half as wide again takes 1.5^2 as many: 62 x 2.25 = 139.5.
    middle, half = (independent.low + independent.high) / 2, (independent.high - independent.low) / 2
    clustered = replace(independent, low=middle - 1.5 * half, high=middle + 1.5 * half)
    assert verdict(clustered, 0.75, 0.05).cases_to_tell == 140
    # Where the interval but touches the mark, one case more is the least, however few would do.
    touching = replace(wilson(90, 100), low=0.8, high=0.93)
    assert verdict(touching, 0.75, 0.05).cases_to_tell == 101
    # A narrower one takes no fewer than independent cases do.
    narrow = replace(independent, low=middle - 0.75 * half, high=middle + 0.75 * half)
    assert verdict(narrow, 0.75, 0.05).cases_to_tell == 62


def test_cases_to_tell_of_days_go_with_the_square_of_the_longer_side():
    # The nearer mark is 16, six days off, and the interval reaches twelve days down: four times the animals.
    assert verdict(interval(10, 24, 22, animals=10), 15, 1, words=DAY_WORDS).cases_to_tell == 40
    # 998 and 1,000 times as far as the mark, ten animals: 9,960,040, and as many as nobody will have.
    assert verdict(interval(-976, 1020, 22, animals=10), 30, 7, words=DAY_WORDS).cases_to_tell == 9_960_040
    assert verdict(interval(-978, 1022, 22, animals=10), 30, 7, words=DAY_WORDS).cases_to_tell is None


def test_no_number_of_cases_is_given_where_none_would_do():
    on_the_mark, bounded = interval(16, 34, 28), replace(interval(16, 34, 22), value_to=24)
    unbounded = replace(interval(16, 34, 22), high=None)
    nobody = replace(interval(16, 34, 22), animals=None)
    for estimate in (on_the_mark, bounded, unbounded, nobody):
        assert verdict(estimate, 30, 2, words=DAY_WORDS).cases_to_tell is None
    assert verdict(interval(29, 31, 30), 30, 2).cases_to_tell is None


def test_a_margin_of_nothing_and_a_span_of_one_point_are_allowed():
    touching = verdict(interval(0.7, 0.9), (0.7, 0.9), 0)
    assert (touching.word, touching.benchmark, touching.margin) == ("consistent with", (0.7, 0.9), 0)
    assert verdict(interval(0.7, 0.9), (0.95, 0.95), 0).word == "lower"


# At a share of 0 or 1 half of Wilson's interval is z^2 / (2 (n + z^2)), so n is z^2 (1 / (2 d) - 1).
@pytest.mark.parametrize(("level", "cases"), [(0.95, 16), (0.99, 27)])
def test_cases_for_a_half_width_at_the_ends_by_hand(level, cases):
    assert [cases_for_half_width(share, 0.1, level=level) for share in (0, 1)] == [cases, cases]
    assert cases_for_half_width(0, 0.5, level=level) == 1


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_share_outside_0_to_1_is_refused(share):
    with pytest.raises(AuditError, match=f"share {share}"):
        cases_for_half_width(share, 0.1)


def test_a_half_width_that_nobody_has_the_cases_for_is_refused():
    # z^2 / (4 d^2) - z^2 is 9,993,386 and 10,058,174, by hand.
    assert cases_for_half_width(0.5, 0.00031) == 9_993_386
    for half_width in (0.000309, 0.0001):
        with pytest.raises(AuditError, match=f"a half-width of {half_width:g} takes over 10,000,000 cases"):
            cases_for_half_width(0.5, half_width)
