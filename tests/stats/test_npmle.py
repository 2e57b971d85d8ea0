import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from visits import INF, VISITS, days, ends

from audit.errors import AuditError, EmptyGroup
from audit.stats.npmle import npmle
from audit.stats.profile import quantile_interval

SURVEYS = ["ic-cosmesis-rt", "ic-cosmesis-pooled", "ic-marijuana-narrow"]


def holds(curve, left, right):
    """Which innermost interval lies in which observed interval, straight from the definition."""
    exact = (left == right)[:, None]
    begins = curve.left >= left[:, None]
    begins &= exact | ~curve.exact | (curve.left > left[:, None])  # (2, 4] does not hold the exact day 2
    begins &= ~exact | curve.exact  # nor does the exact day 2 hold (2, 3]
    return begins & (curve.right <= right[:, None])


@pytest.mark.parametrize("case_id", SURVEYS)
def test_masses_and_likelihood_of_the_surveys(case_id):
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (masses of radiotherapy alone as printed by Fay MP, Shaw PA.
    # J Stat Softw 2010;36(2)); the rest recomputed in R (npsurv) on that and on data of Turnbull and Weiss 1978.
    case = published("survival", case_id)
    curve = npmle(*days(case))
    support = curve.mass > 1e-7
    right = [INF if day is None else day for day in case.value("interval_right_null_is_infinity")]
    assert curve.left[support].tolist() == case.value("interval_left")
    assert curve.right[support].tolist() == right
    assert curve.mass[support] == pytest.approx(case.value("mass"), abs=1e-5)
    assert curve.loglik == case["loglik"]


def test_the_maximum_is_not_caught_by_the_impostor_of_gentleman_and_geyer():
    # Gentleman R, Geyer CJ. Biometrika 1994;81:618-623: an EM fixed point that is no maximum.
    case = published("survival", "ic-gentleman-geyer")
    curve = npmle(*days(case))
    assert list(curve.mass) == case["mass"]
    assert curve.loglik == case["loglik"]


def test_one_visit_gives_the_plain_share():
    case = published("survival", "ic-hand-exponential")
    curve = npmle(*days(case))
    assert curve.mass.tolist() == case["npmle_mass"]
    assert curve.loglik == case["loglik"]


@pytest.mark.parametrize("case_id", ["ic-exact-only", "ic-exact-in-interval", "ic-left-only"])
def test_exact_days_and_left_censored_days(case_id):
    case = published("survival", case_id)
    curve = npmle(*days(case))
    assert list(curve.mass) == pytest.approx(np.atleast_1d(case.value("mass")), abs=1e-6)
    if case_id == "ic-exact-in-interval":
        assert (curve.left.tolist(), curve.right.tolist()) == ([2, 2], [2, 3])
        assert curve.exact.tolist() == [True, False]


def test_right_censored_days_give_the_kaplan_meier_drops():
    case = published("survival", "ic-reduces-to-km")
    curve = npmle(*days(case))
    assert list(curve.mass[curve.exact]) == case["drop"]
    assert curve.mass[-1] == case["mass_beyond_last_death"]
    assert curve.share(10) == pytest.approx((1 - 0.752941176470588,) * 2, abs=1e-6)
    median = quantile_interval(*days(case)[:2], 0.5)
    assert (median.value, median.value_to) == (23, 23)


@given(st.lists(st.tuples(st.integers(1, 15), st.booleans()), min_size=1, max_size=30))
@settings(max_examples=40, deadline=None)
def test_right_censored_days_give_lifelines_kaplan_meier(rows):
    from lifelines import KaplanMeierFitter

    day, healed = np.array([row[0] for row in rows], dtype=float), np.array([row[1] for row in rows])
    curve = npmle(day, np.where(healed, day, INF))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # lifelines trips pandas deprecations of its own
        fitter = KaplanMeierFitter().fit(day, event_observed=healed)
    for at in np.unique(day):
        assert curve.share(at)[0] == pytest.approx(1 - float(fitter.predict(at)), abs=2e-4)


def test_day_21_counts_what_the_visits_settle():
    # By day 21: (0,14] and (14,21] surely, (21,inf) surely not, (18,25] could be either. By hand: 1/4 in (0,14],
    # the rest p in (18,21] and q in (21,25] with p q (p + q) greatest at p = q = 3/8.
    curve = npmle([0, 14, 18, 21], [14, 21, 25, INF])
    assert curve.left.tolist() == [0, 18, 21]
    assert curve.right.tolist() == [14, 21, 25]
    assert curve.share(21) == pytest.approx((0.625, 0.625), abs=1e-6)
    assert curve.share(20) == pytest.approx((0.25, 0.625), abs=1e-6)
    assert curve.share(18) == pytest.approx((0.25, 0.25), abs=1e-6)


def test_a_share_of_exactly_one_half_is_reached_in_spite_of_rounding():
    # By hand: 4 exact days of 8, the rest censored; S = (1 - 1/8)(1 - 1/7)(1 - 1/6)(1 - 1/5) = 1/2 on day 9.
    found = quantile_interval([3, 5, 8, 9, 9, 9, 10, 12], [3, 5, 8, 9, INF, INF, INF, INF], 0.5)
    assert (found.value, found.value_to) == (9, 9)


@given(VISITS)
@settings(max_examples=60, deadline=None)
def test_maximum_is_proved_by_the_gradient_over_all_innermost_intervals(rows):
    left, right = ends(rows)
    curve = npmle(left, right)
    inside = holds(curve, left, right)
    gradient = (inside / (inside @ curve.mass)[:, None]).sum(axis=0)
    assert curve.mass.sum() == pytest.approx(1)
    assert gradient.max() - len(rows) <= 1e-6
    assert curve.loglik == pytest.approx(np.log(inside @ curve.mass).sum(), abs=1e-9)


@given(VISITS, st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_tallied_shuffled_and_unknown_rows_change_nothing(rows, random):
    rows = [(left + 1, right + 1) for left, right in rows]  # so that a day is left before the first
    plain = npmle(*ends(rows))
    counts = {row: rows.count(row) for row in rows}
    tally = list(counts.items())
    random.shuffle(tally)
    tallied = npmle(*ends([row for row, _ in tally]), [count for _, count in tally])
    unknown = npmle(*ends([*rows, (0.0, INF)]))
    assert (tallied.n, unknown.n) == (len(rows), len(rows) + 1)
    assert tallied.loglik == pytest.approx(plain.loglik, abs=1e-6)
    assert unknown.loglik == pytest.approx(plain.loglik, abs=1e-6)
    assert tallied.left.tolist() == plain.left.tolist()


def test_many_continuous_days_still_reach_the_maximum():
    rng = np.random.default_rng(7)
    healed = rng.lognormal(3.2, 0.5, 20_000)
    before, after = healed * rng.uniform(0.5, 1, 20_000), healed * rng.uniform(1, 1.5, 20_000)
    curve = npmle(before, np.where(rng.random(20_000) < 0.2, INF, after))
    assert len(curve.mass) > 2000
    assert curve.kkt_gap <= 1e-9 * 20_000


@pytest.mark.parametrize(
    ("left", "right", "weight", "fault"),
    [
        ([5, 9], [7, 8], None, "row 1: left day 9 lies after right day 8"),
        ([5, np.nan], [7, 8], None, "row 1: no left day"),
        ([5], [7], [-1], "a weight is negative"),
        ([5], [7, 8], None, "differ in length"),
    ],
)
def test_faulty_days_are_named(left, right, weight, fault):
    with pytest.raises(AuditError, match=fault):
        npmle(left, right, weight)


@pytest.mark.parametrize("weight", [None, [0.0]])
def test_nothing_to_count_is_refused(weight):
    with pytest.raises(EmptyGroup):
        npmle([] if weight is None else [3.0], [] if weight is None else [4.0], weight)


def test_many_rows_of_whole_days_are_those_of_the_same_rows_in_parts_of_days():
    rng = np.random.default_rng(3)
    left = rng.integers(0, 9, 2000).astype(float)
    right = np.where(rng.random(2000) < 0.2, np.inf, left + rng.integers(0, 5, 2000))
    whole, parts = npmle(left, right), npmle(left + 0.5, right + 0.5)
    assert (parts.left - 0.5).tolist() == whole.left.tolist()
    assert (parts.right - 0.5).tolist() == whole.right.tolist()
    assert parts.mass == pytest.approx(whole.mass, abs=1e-9)
    assert (parts.n, parts.loglik) == (whole.n, pytest.approx(whole.loglik, abs=1e-8))


def test_the_gap_is_as_small_as_is_said_and_the_likelihood_is_of_all_cases():
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    once, often = npmle(left, right), npmle(left, right, [4000] * len(left))
    assert 0 <= once.kkt_gap <= 1e-10 * once.n
    assert 0 <= often.kkt_gap <= 1e-9 * often.n
    assert often.n == 4000 * once.n >= 1e5
    assert often.mass == pytest.approx(once.mass, abs=1e-6)
    assert often.loglik == pytest.approx(4000 * once.loglik, rel=1e-9)


def test_an_interval_begins_after_its_left_day():
    curve = npmle([7, 7], [14, 7])
    assert (curve.left.tolist(), curve.right.tolist(), curve.exact.tolist()) == ([7, 7], [7, 14], [True, False])
    assert [curve.share(day) for day in (6.9, 7, 7.1, 14)] == [(0, 0), (0.5, 0.5), (0.5, 1), (1, 1)]
    assert npmle([0, 3], [0, 3], [1, 3]).share(0) == (0.25, 0.25)


@pytest.mark.parametrize("n", [18, 19, 200])
def test_equal_rows_are_tallied_alike_whether_few_or_many(n):
    # Days up to 4, of which 36 / 2 rows are the fewest that are tallied by their days.
    rows = [(0.0, 2.0), (1.0, 1.0), (1.0, 4.0), (2.0, INF), (0.0, 4.0), (3.0, 4.0)]
    seen = [rows[i % 6] for i in range(n)]
    curve, tallied = npmle(*ends(seen)), npmle(*ends(rows), [seen.count(row) for row in rows])
    assert curve.mass == pytest.approx(tallied.mass, abs=1e-7)
    assert (curve.n, curve.left.tolist(), curve.right.tolist()) == (n, tallied.left.tolist(), tallied.right.tolist())
