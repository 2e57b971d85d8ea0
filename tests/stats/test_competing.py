import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from visits import INF, days

from audit.errors import AuditError, EmptyGroup
from audit.stats.competing import (
    competing_band,
    competing_npmle,
    competing_quantile_interval,
    competing_share_interval,
)
from audit.stats.npmle import npmle
from audit.stats.profile import band, quantile_interval, share_interval

EXACT = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 3)), min_size=1, max_size=25)
FOLLOWED = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 6), st.integers(0, 3)).map(
        lambda row: (float(row[0]), float(row[0] + (row[1] if row[2] == 1 else 0)), row[2])
    ),
    min_size=1,
    max_size=25,
)


def columns(rows):
    left, right, cause = zip(*rows, strict=True)
    return np.array(left, dtype=float), np.array(right, dtype=float), np.array(cause)


def aalen_johansen(day, cause, of, at):
    """Running sum of S(t-) d / r over the days up to `at`, events before censorings."""
    free, total = 1.0, 0.0
    for t in np.unique(day[(day <= at) & (cause > 0)]):
        at_risk, now = (day >= t).sum(), (day == t) & (cause > 0)
        total += free * (now & (cause == of)).sum() / at_risk
        free *= 1 - now.sum() / at_risk
    return total


@pytest.mark.parametrize(("case_id", "at"), [("cr-bmt-aj", [3, 8, 14, 26]), ("cr-hand-ties", [1, 2, 3, 4, 5])])
def test_exact_days_give_aalen_johansen_as_recomputed_in_r_and_by_hand(case_id, at):
    # Recomputed in R (survival, cmprsk) on the data of Scrucca L and others. Bone Marrow Transplant 2007;40:381-387.
    case = published("survival", case_id)
    curve = competing_npmle(case.data["time"], case.data["time"], case.data["status"])
    for cause in (1, 2):
        assert [curve.incidence(cause, day)[0] for day in at] == case[f"cif{cause}"]
    assert [curve.event_free(day)[1] for day in at] == case["event_free"]


def test_without_censoring_the_incidence_is_the_plain_share():
    case = published("survival", "cr-no-censoring")
    curve = competing_npmle(case.data["time"], case.data["time"], case.data["status"])
    assert curve.incidence(1, 8)[0] == case["cif1_at_8"]


@given(EXACT, st.integers(0, 9))
@settings(max_examples=60, deadline=None)
def test_exact_days_give_aalen_johansen_with_ties_kept(rows, at):
    day, cause = np.array(rows, dtype=float).T
    curve = competing_npmle(day, day, cause.astype(int))
    for of in (1, 2, 3):
        assert curve.incidence(of, at)[0] == pytest.approx(aalen_johansen(day, cause, of, at), abs=1e-6)


@pytest.mark.parametrize("at", [5, 12, 30, 45])
def test_one_cause_gives_turnbull_and_its_interval(at):
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis).
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    cause = np.isfinite(right).astype(int)
    assert competing_npmle(left, right, cause).incidence(1, at) == pytest.approx(npmle(left, right).share(at), abs=1e-6)
    one, plain = competing_share_interval(left, right, cause, at), share_interval(left, right, at)
    assert (one.low, one.high, one.numerator, one.unknown) == pytest.approx(
        (plain.low, plain.high, plain.numerator, plain.unknown), abs=1e-6
    )


@given(FOLLOWED)
@settings(max_examples=60, deadline=None)
def test_maximum_is_proved_by_the_gradient_over_every_possible_day(rows):
    left, right, cause = columns(rows)
    curve = competing_npmle(left, right, cause)

    def likelihoods(mass_of):
        """Each case's likelihood under masses given by (cause, day)."""
        return np.array(
            [
                sum(m for (k, day), m in mass_of if (k == c or c == 0) and (a < day <= b or a == day == b))
                for a, b, c in zip(left, np.where(cause == 0, INF, right), cause, strict=True)
            ]
        )

    # A mass anywhere in its innermost interval counts the same, so put it at the right end.
    placed = [((k, day), m) for k, day, m in zip(curve.cause, curve.right, curve.mass, strict=True)]
    found = likelihoods(placed)
    for k in (1, 2, 3):
        for day in np.arange(0, 17, 0.5):
            assert (likelihoods([((k, day), 1.0)]) / found).sum() <= len(rows) + 1e-6
    assert curve.loglik == pytest.approx(np.log(found).sum(), abs=1e-9)
    assert curve.mass.sum() == pytest.approx(1)


@given(FOLLOWED, st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_tallied_and_shuffled_rows_change_nothing(rows, random):
    tally = [(row, rows.count(row)) for row in dict.fromkeys(rows)]
    random.shuffle(tally)
    plain = competing_share_interval(*columns(rows), 6)
    tallied = competing_share_interval(*columns([row for row, _ in tally]), 6, weight=[count for _, count in tally])
    assert (tallied.low, tallied.high) == pytest.approx((plain.low, plain.high), abs=1e-5)
    assert (tallied.numerator, tallied.denominator, tallied.unknown) == (
        plain.numerator,
        plain.denominator,
        plain.unknown,
    )


@given(FOLLOWED, st.sampled_from([1, 2, 3]))
@settings(max_examples=25, deadline=None)
def test_interval_holds_the_estimate_of_the_whole_curve(rows, of):
    curve, found = competing_npmle(*columns(rows)), competing_share_interval(*columns(rows), 6, of=of)
    low, high = curve.incidence(of, 6)
    assert (found.value, found.value_to) == pytest.approx((low, high), abs=1e-5)
    assert found.low <= low + 1e-6
    assert high - 1e-6 <= found.high


def test_an_exit_leaves_healing_and_is_not_censored():
    # Five healed by day 14, five exits on day 10: half healed, whoever would have healed later.
    left, right = [7] * 5 + [10] * 5, [14] * 5 + [10] * 5
    found = competing_share_interval(left, right, [1] * 5 + [2] * 5, 28)
    censored = share_interval([7] * 5 + [10] * 5, [14] * 5 + [INF] * 5, 28)
    assert (found.value, found.value_to, found.unknown) == pytest.approx((0.5, 0.5, 0))
    assert censored.value_to == pytest.approx(1)
    # Nothing is unknown, so the interval is the binomial likelihood interval of 5 of 10.
    binomial = share_interval([0] * 5 + [28] * 5, [14] * 5 + [INF] * 5, 28)
    assert (found.low, found.high) == pytest.approx((binomial.low, binomial.high), abs=1e-6)


@pytest.mark.parametrize("p", [0.2, 0.5, 0.9])
def test_one_cause_gives_the_same_band_and_quantiles(p):
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis).
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    cause, at = np.isfinite(right).astype(int), np.arange(1, 61)
    one, plain = competing_band(left, right, cause, at), band(left, right, at)
    assert np.column_stack((one.low, one.high)) == pytest.approx(np.column_stack((plain.low, plain.high)), abs=1e-5)
    one, plain = competing_quantile_interval(left, right, cause, p), quantile_interval(left, right, p)
    assert (one.value, one.value_to, one.low, one.high) == (plain.value, plain.value_to, plain.low, plain.high)


def test_a_share_that_exits_leave_out_of_reach_has_no_day():
    found = competing_quantile_interval([7] * 8 + [10] * 32, [14] * 8 + [10] * 32, [1] * 8 + [2] * 32, 0.5)
    assert (found.value, found.value_to, found.low, found.high) == (None, None, None, None)
    assert found.notes[-1] == "fewer than 50% healed"


def test_beyond_the_last_day_in_place_nothing_is_known():
    curve = competing_npmle([5, 10, 20], [9, 10, INF], [1, 2, 0])
    assert curve.incidence(1, 30) == pytest.approx((1 / 3, 2 / 3))
    assert curve.incidence(2, 20) == pytest.approx((1 / 3, 1 / 3))
    assert curve.event_free(30) == pytest.approx((0, 1 / 3))


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ([(3.0, 5.0, 2)], "an exit needs its exact day"),
        ([(3.0, INF, 1)], "a healed case needs the visit"),
        ([(3.0, 5.0, -1)], "a cause is not 0"),
        ([(6.0, 5.0, 1)], "left day 6 lies after right day 5"),
    ],
)
def test_faulty_causes_are_named(rows, fault):
    with pytest.raises(AuditError, match=fault):
        competing_npmle(*columns(rows))


def test_shares_at_the_borders_of_a_healing_interval_and_of_an_exit():
    # One healed in (7, 14], one left on day 10: by day 7 nobody, on day 10 the exit surely and the healing perhaps.
    curve = competing_npmle([7, 10], [14, 10], [1, 2])
    healed, left = [curve.incidence(1, day) for day in (7, 10, 14)], [curve.incidence(2, day) for day in (9.9, 10)]
    assert np.array(healed) == pytest.approx(np.array([(0, 0), (0, 0.5), (0.5, 0.5)]))
    assert np.array(left) == pytest.approx(np.array([(0, 0), (0.5, 0.5)]))
    free = np.array([curve.event_free(day) for day in (7, 10, 14)])
    assert free == pytest.approx(np.array([(1, 1), (0, 0.5), (0, 0)]))


@pytest.mark.parametrize(
    ("of", "day", "sure", "unknown"), [(1, 7, 0, 0), (1, 10, 0, 2), (1, 14, 1, 1), (2, 9, 0, 1), (2, 10, 3, 1)]
)
def test_sure_and_unknown_cases_by_hand(of, day, sure, unknown):
    # One healed in (7, 14], three left on day 10, one in place on day 8 and not seen since.
    found = competing_share_interval([7, 10, 8], [14, 10, INF], [1, 2, 0], day, of=of, weight=[1, 3, 1])
    assert (found.numerator, found.unknown, found.denominator) == (sure, unknown, 5)


def test_other_exits_are_one_exit_whatever_their_codes():
    left, right = [7, 10, 12, 20, 9], [14, 10, 12, INF, 16]
    apart, one = [1, 2, 5, 0, 1], [1, 2, 2, 0, 1]
    plain, merged = (competing_share_interval(left, right, cause, 14) for cause in (apart, one))
    assert (plain.low, plain.high) == pytest.approx((merged.low, merged.high), abs=1e-9)
    # For the exit of code 5 the other is code 2, and the other way round.
    fifth, second = (competing_share_interval(left, right, cause, 14, of=of) for cause, of in ((apart, 5), (one, 2)))
    assert (fifth.value, second.value) == pytest.approx((0.2, 0.4), abs=1e-6)
    assert (fifth.quantity, plain.quantity) == (
        "share left by cause 5 by day 14, other exits competing",
        "share healed by day 14, other exits competing",
    )


@pytest.mark.parametrize("of", [0, -1])
def test_staying_in_place_is_no_way_to_leave(of):
    with pytest.raises(AuditError, match=f"cause {of} is no way to leave"):
        competing_share_interval([7], [14], [1], 10, of=of)


def test_part_of_a_code_is_no_cause():
    with pytest.raises(AuditError, match="a cause is not 0"):
        competing_npmle([3], [3], [2.5])


def test_nothing_to_count_is_refused():
    with pytest.raises(EmptyGroup):
        competing_npmle([], [], [])
