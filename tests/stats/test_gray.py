import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import AalenJohansenFitter
from published import published
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight, survdiff

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.stats.competing import competing_npmle
from audit.stats.gray import cumulative_incidence, gray_test

EXACT = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 3)), min_size=1, max_size=25).filter(
    lambda rows: any(cause for _, cause in rows)
)


def columns(rows):
    day, cause = zip(*rows, strict=True)
    return np.array(day), np.array(cause)


def on(curve, days):
    return np.searchsorted(curve.day, days, side="right") - 1


def generator():
    return np.random.default_rng(1)


def test_bone_marrow_transplants_as_published():
    # Scrucca L, Santucci A, Aversa F. Bone Marrow Transplant 2007;40:381-387 (35 patients, two events at time 0).
    case = published("regression", "cr-bmt-aj")
    curve = cumulative_incidence(case.data["time"], case.data["status"])
    at = on(curve, [3, 8, 14, 26])
    for cause in (1, 2):
        assert curve.incidence[cause - 1, at].tolist() == case[f"cif{cause}"]
        assert curve.standard_error[cause - 1, at].tolist() == case[f"delta_se{cause}"]
    assert curve.event_free[at].tolist() == case["event_free"]


def test_incidence_by_disease_as_published():
    case = published("regression", "cr-bmt-aj-by-group")
    time, status, disease = (np.array(case.data[name]) for name in ("time", "status", "dis"))
    curves = [cumulative_incidence(time[disease == group], status[disease == group]) for group in (0, 1)]
    found = [curve.incidence[cause, on(curve, [5, 10, 20])] for cause in (0, 1) for curve in curves]
    assert np.concatenate(found).tolist() == case["cif"]


def test_log_log_limits_as_published():
    # Choudhury JB. Stat Med 2002;21:1129-1144 (form of the limits; values recomputed by hand).
    case = published("regression", "cr-bmt-loglog")
    share = cumulative_incidence(case.data["time"], case.data["status"]).share(2, 14)
    assert share.value == case["cif2"]
    assert [share.low, share.high] == case["ci"]
    assert (share.numerator, share.denominator) == (13, 35)


def test_ties_by_hand():
    case = published("regression", "cr-hand-ties")
    curve = cumulative_incidence(case.data["time"], case.data["status"])
    at = on(curve, [1, 2, 3, 4, 5])
    assert curve.incidence[0, at].tolist() == case["cif1"]
    assert curve.incidence[1, at].tolist() == case["cif2"]
    assert curve.event_free[at].tolist() == case["event_free"]
    assert (curve.standard_error[0, at] ** 2).tolist() == case["delta_var1"]
    sums = published("regression", "cr-identity")
    assert (curve.incidence.sum(axis=0) + curve.event_free)[at].tolist() == sums["sum"]


def test_without_censoring_the_variance_is_binomial():
    case = published("regression", "cr-no-censoring")
    curve = cumulative_incidence(case.data["time"], case.data["status"])
    assert curve.share(1, 8).value == case["cif1_at_8"]
    assert curve.standard_error[0, on(curve, 7)] ** 2 == case["delta_var_at_7"]


def test_gray_test_as_published():
    # Scrucca L, Santucci A, Aversa F. Bone Marrow Transplant 2010;45:1388-1395 (177 patients), recomputed with cmprsk.
    case = published("regression", "cr-bmtcrr-gray")
    tests = [
        gray_test(case.data["time"], case.data["status"], case.data["group"], generator(), of=cause, draws=0)
        for cause in (1, 2)
    ]
    assert [test.chi_square for test in tests] == case["chisq"]
    assert [test.p_normal for test in tests] == case["p"]


@given(EXACT)
@settings(max_examples=60, deadline=None)
def test_same_as_the_interval_censored_estimate_where_healing_is_exact(rows):
    day, cause = columns(rows)
    exact, bounded = cumulative_incidence(day, cause), competing_npmle(day, day, cause)
    for at in exact.day[exact.day <= exact.followed]:
        for of in exact.causes:
            assert exact.share(of, at).value == pytest.approx(bounded.incidence(of, at)[0], abs=1e-6)


@given(EXACT)
@settings(max_examples=60, deadline=None)
def test_same_as_statsmodels_with_ties(rows):
    day, cause = columns(rows)
    curve = cumulative_incidence(day, cause)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = CumIncidenceRight(day, cause)
    place = np.searchsorted(other.times, curve.day)
    for row, of in enumerate(curve.causes):
        assert curve.incidence[row] == pytest.approx(other.cinc[of - 1][place], abs=1e-12)
        known = np.isfinite(other.cinc_se[of - 1][place])  # it has none once nobody is left at risk
        error = np.where(known, other.cinc_se[of - 1][place], curve.standard_error[row])
        assert curve.standard_error[row] == pytest.approx(error, abs=1e-9)


def test_without_ties_lifelines_agrees_too():
    random = np.random.default_rng(2)
    day, cause = random.exponential(20, 60), random.integers(0, 3, 60)
    fitted = AalenJohansenFitter(calculate_variance=False).fit(day, cause, event_of_interest=1)
    curve = cumulative_incidence(day, cause)
    found = fitted.cumulative_density_.iloc[:, 0].loc[curve.day].to_numpy()
    assert curve.incidence[0] == pytest.approx(found, abs=1e-12)


def test_one_cause_is_one_minus_kaplan_meier():
    case = published("regression", "cr-bmt-aj")
    day, gone = np.array(case.data["time"]), np.array(case.data["status"]) > 0
    curve, other = cumulative_incidence(day, gone.astype(int)), SurvfuncRight(day, gone)
    assert curve.incidence[0] == pytest.approx(1 - other.surv_prob, abs=1e-12)
    assert curve.standard_error[0] == pytest.approx(other.surv_prob_se, abs=1e-12)


@given(EXACT, st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_tallies_and_parts_of_days_change_nothing(rows, random):
    tally = [(row, rows.count(row)) for row in dict.fromkeys(rows)]
    random.shuffle(tally)
    day, cause = columns(rows)
    plain = cumulative_incidence(day, cause)
    tallied = cumulative_incidence(*columns([row for row, _ in tally]), [count for _, count in tally])
    parts = cumulative_incidence(day / 7 + 0.1, cause)
    for other in (tallied, parts):
        assert other.low == pytest.approx(plain.low, abs=1e-12)
        assert other.high == pytest.approx(plain.high, abs=1e-12)
        assert other.n == len(rows)
    assert (plain.low <= plain.incidence + 1e-12).all()
    assert (plain.incidence <= plain.high + 1e-12).all()


def test_nobody_yet_and_everybody_have_an_informative_limit():
    curve = cumulative_incidence([5] * 10 + [9] * 10, [2] * 10 + [1] * 10)
    assert curve.share(1, 4).high == pytest.approx(1 - 0.025 ** (1 / 20))
    assert (curve.share(1, 5).value, curve.share(1, 5).low) == (0, 0)
    assert curve.share(1, 5).high == pytest.approx(1 - 0.025 ** (1 / 20))
    everybody = cumulative_incidence([9] * 10, [1] * 10).share(1, 9)
    assert (everybody.value, everybody.low, everybody.high) == pytest.approx((1, 0.025 ** (1 / 10), 1))


def test_beyond_the_last_day_of_follow_up_there_is_no_share():
    with pytest.raises(TooFewData, match="no case was followed to day 31; ask for day 30 or earlier"):
        cumulative_incidence([5, 9, 30], [1, 2, 0]).share(1, 31)
    assert cumulative_incidence([5, 9, 30], [1, 2, 1]).share(1, 31).value == pytest.approx(2 / 3)


def test_gray_without_exits_has_the_log_rank_score():
    # With one cause Gray's score is the log-rank's observed less expected, group by group.
    random = np.random.default_rng(3)
    day, gone, group = random.integers(1, 30, 80), random.integers(0, 2, 80), random.integers(0, 2, 80)
    test = gray_test(day, gone, group, generator(), draws=0)
    observed = expected = 0.0
    for at in np.unique(day[gone == 1]):
        now, risk = (day == at) & (gone == 1), day >= at
        observed += (now & (group == 1)).sum()
        expected += now.sum() * (risk & (group == 1)).sum() / risk.sum()
    assert test.scores[1] == pytest.approx(observed - expected, abs=1e-9)
    assert test.chi_square == pytest.approx(survdiff(day, gone, group)[0], rel=0.1)


@given(st.integers(0, 10_000), st.permutations(range(3)))
@settings(max_examples=25, deadline=None)
def test_names_of_groups_and_tallies_change_nothing(seed, names):
    random = np.random.default_rng(seed)
    day, cause, group = random.integers(1, 25, 60), random.integers(0, 3, 60), random.integers(0, 3, 60)
    plain = gray_test(day, cause, group, generator(), draws=0)
    table, count = np.unique(np.column_stack((day, cause, np.array(names)[group])), axis=0, return_counts=True)
    other = gray_test(*table.T, generator(), weight=count, draws=0)
    assert other.chi_square == pytest.approx(plain.chi_square, rel=1e-8)
    assert sorted(other.cases) == sorted(plain.cases)
    assert sum(plain.scores) == pytest.approx(0, abs=1e-9)


def test_permutation_and_chi_square_agree_where_many_and_apart():
    random = np.random.default_rng(4)
    group = np.arange(200) % 2
    day, cause = np.ceil(random.exponential(np.where(group, 20, 26), 200)), random.integers(0, 3, 200)
    test = gray_test(day, cause, group, generator(), draws=499)
    assert test.p == pytest.approx(test.p_normal, abs=0.06)
    assert test == gray_test(day, cause, group, generator(), draws=499)
    apart = gray_test(np.where(group, day, 2 * day), [1] * 200, group, generator(), draws=99)
    assert (apart.p, apart.p_normal < 0.01) == (0.01, True)


def test_frames_are_tidy():
    curve = cumulative_incidence([7, 14, 14, 21, 28], [1, 1, 2, 1, 0])
    assert curve.frame.columns.tolist() == ["term", "estimate", "low", "high", "level", "method", "n", "animals"]
    assert curve.frame.shape == (6, 8)
    assert curve.frame.estimate.tolist() == pytest.approx([0.2, 0.4, 0.6, 0, 0.2, 0.2])
    assert "cause 2 by day 14" in curve._repr_html_()
    test = gray_test(np.arange(12), [1] * 12, np.arange(12) % 2, generator(), draws=9)
    assert (test.frame.estimate[0], test.frame.n[0]) == (test.chi_square, 12)
    assert "Gray" in test._repr_html_()


def test_too_few_are_refused_in_words():
    with pytest.raises(TooFewData, match="9 animals are too few to compare curves"):
        gray_test(np.arange(9), [1] * 9, np.arange(9) % 2, generator())
    with pytest.raises(TooFewData, match="3 events of cause 1 for 1 coefficients; a model needs 5"):
        gray_test(np.arange(12), [1] * 3 + [0] * 9, np.arange(12) % 2, generator())
    with pytest.raises(TooFewData, match="hardly under observation on the same days"):
        gray_test(np.repeat([1, 9], 10), np.repeat([0, 1], 10), np.repeat([0, 1], 10), generator())
    with pytest.raises(TooFewData, match="no case has healed or left"):
        cumulative_incidence([5, 9], [0, 0])


@pytest.mark.parametrize(
    ("day", "cause", "error", "fault"),
    [
        ([], [], EmptyGroup, "no cases"),
        ([5, -1], [1, 1], AuditError, "missing or negative"),
        ([5, np.nan], [1, 1], AuditError, "missing or negative"),
        ([5, 9], [1, -1], AuditError, "a cause is not 0"),
        ([5, 9], [1, 0.5], AuditError, "a cause is not 0"),
        ([5, 9], [1], AuditError, "differ in length"),
    ],
)
def test_faulty_rows_are_named(day, cause, error, fault):
    with pytest.raises(error, match=fault):
        cumulative_incidence(day, cause)


def test_one_group_is_no_comparison():
    with pytest.raises(AuditError, match="all cases are in one group"):
        gray_test(np.arange(12), [1] * 12, [0] * 12, generator())
    with pytest.raises(AuditError, match=r"choose one of \(1, 2\)"):
        cumulative_incidence([5, 9], [1, 2]).share(3, 5)
