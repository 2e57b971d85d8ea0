"""The log-rank test: published values, and what must not change it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines.statistics import multivariate_logrank_test
from published import published
from statsmodels.duration.survfunc import survdiff

from audit.errors import AuditError, EmptyGroup
from audit.stats.log_rank import log_rank


# Freireich 1963 (6-MP), Miller 1981 (AML), Copelan 1991 (bone marrow): sources stand with the cases.
@pytest.mark.parametrize("case_id", ["logrank-freireich", "logrank-aml", "logrank-ksample-bmt137"])
def test_published_observed_expected_and_chi_square(case_id):
    case = published("survival", case_id)
    test = log_rank(case.data["time"], case.data["status"], case.data["group"])
    found = dict(zip(test.group, zip(test.observed, test.expected, strict=True), strict=True))
    order = [str(name) for name in dict.fromkeys(case.data["group"])]
    assert [found[name][0] for name in order] == case["observed"]
    assert [found[name][1] for name in order] == case["expected"]
    assert test.chi_square == case["chisq"]
    assert test.p == case["p"]


def test_published_crossing_hazards_and_fractional_months():
    case = published("survival", "logrank-kidney-dialysis")
    test = log_rank(case.data["time"], case.data["status"], case.data["group"])
    assert (test.chi_square, test.p) == (case["logrank_chisq"], case["p"])


def test_published_strata():
    case = published("survival", "logrank-stratified-freireich-remission")
    data = case.data
    test = log_rank(data["time"], data["status"], data["group"], stratum=data["stratum"])
    assert sorted(test.observed) == case["observed"]
    assert test.covariance[0, 0] == case["variance"]
    assert test.chi_square == case["chisq"]


ROWS = st.lists(st.tuples(st.integers(0, 9), st.booleans(), st.sampled_from("abc")), min_size=8, max_size=40)


@settings(max_examples=40, deadline=None)
@given(ROWS, st.randoms(use_true_random=False))
def test_order_names_and_tallies_change_nothing_and_lifelines_agrees(rows, random):
    days, events, groups = (list(column) for column in zip(*rows, strict=True))
    if len(set(groups)) < 2 or not any(events):
        return
    whole = log_rank(days, events, groups)
    random.shuffle(rows)
    distinct = sorted(set(rows))
    tallied = log_rank(*zip(*distinct, strict=True), weight=[rows.count(row) for row in distinct])
    renamed = log_rank(
        [float(day) for day, *_ in rows], [e for _, e, _ in rows], ["xyz"["abc".index(g)] for *_, g in rows]
    )
    for other in (tallied, renamed):
        assert other.chi_square == pytest.approx(whole.chi_square, abs=1e-9)
    if np.linalg.matrix_rank(whole.covariance) == whole.df:
        peer = multivariate_logrank_test(days, groups, events)
        assert whole.chi_square == pytest.approx(peer.test_statistic, rel=1e-6, abs=1e-9)


def test_refusals_name_the_fault():
    with pytest.raises(AuditError, match="one group"):
        log_rank([1, 2], [1, 1], ["a", "a"])
    with pytest.raises(AuditError, match="before surgery"):
        log_rank([-1, 2], [1, 1], ["a", "b"])
    with pytest.raises(EmptyGroup, match="nothing to compare"):
        log_rank([1, 2], [0, 0], ["a", "b"])


def test_several_blocks_of_days_agree_with_statsmodels():
    rng = np.random.default_rng(2)
    day, event, group = rng.exponential(30, 20_000), rng.random(20_000) < 0.6, rng.integers(0, 3, 20_000)
    chi_square, p = survdiff(day, event, group)
    test = log_rank(day, event, group)
    assert (test.chi_square, test.p) == pytest.approx((chi_square, p), rel=1e-8)
