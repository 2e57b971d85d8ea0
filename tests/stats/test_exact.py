import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published

from audit.errors import AuditError, EmptyGroup
from audit.stats.exact import BLOCK, follow_up, kaplan_meier, observed_expected, one_sample_log_rank

FREIREICH = published("survival", "km-freireich-6mp")
FOLLOWED = st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=30)


def curve_of(case, chosen=None):
    day, status = np.array(case.data["time"]), np.array(case.data["status"])
    return kaplan_meier(day, status) if chosen is None else kaplan_meier(day[chosen], status[chosen])


def test_freireich_curve_matches_the_published_table():
    curve = curve_of(FREIREICH)
    assert curve.day.tolist() == FREIREICH.value("event_times")
    assert curve.at_risk.tolist() == FREIREICH.value("n_risk")
    assert curve.events.tolist() == FREIREICH.value("n_event")
    assert curve.survival.tolist() == FREIREICH["surv"]
    assert curve.se.tolist() == FREIREICH["greenwood_se"]


def test_aml_curves_and_their_medians_match_the_published_output():
    case = published("survival", "km-aml")
    group = np.array(case.data["group"])
    for arm in ("Maintained", "Nonmaintained"):
        curve = curve_of(case, group == arm)
        assert curve.survival.tolist() == case[f"{arm.lower()}_surv"]
        median = curve.quantile(0.5)
        assert [median.value, median.low, median.high] == case.value(f"{arm.lower()}_median_ci")
    assert curve_of(case, group == "Maintained").se.tolist() == case["maintained_se"]


def test_freireich_median_is_reached_but_its_upper_limit_is_not():
    case = published("survival", "km-freireich-6mp-median")
    median = curve_of(case).quantile(0.5)
    assert (median.value, median.low, median.high) == (
        case.value("median"),
        case.value("loglog_lower"),
        case.value("loglog_upper"),
    )
    assert median.notes == ("upper limit not reached by day 35",)


def test_log_log_limits_agree_with_lifelines():
    from lifelines import KaplanMeierFitter

    curve = curve_of(FREIREICH)
    fitter = KaplanMeierFitter(alpha=0.05).fit(FREIREICH.data["time"], FREIREICH.data["status"])
    limits = fitter.confidence_interval_survival_function_.loc[curve.day].to_numpy()
    assert np.column_stack((curve.low, curve.high)) == pytest.approx(limits, abs=1e-8)


def test_restricted_means_match():
    case = published("survival", "km-freireich-rmst")
    arm = np.array(case.data["arm"])
    for name, chosen in (("6mp", arm == "6-MP"), ("placebo", arm == "placebo")):
        mean, se = curve_of(case, chosen).restricted_mean(case.data["tau"])
        assert mean == case[f"rmst_{name}"]
        assert se == case[f"se_{name}"]
    with pytest.raises(AuditError, match="curve ends on day 35"):
        curve_of(FREIREICH).restricted_mean(40)


def test_an_event_comes_before_a_censoring_of_the_same_day():
    case = published("survival", "km-hand-tied-censoring")
    curve = curve_of(case)
    assert curve.survival.tolist() == case["surv"]
    assert (curve.se[:2] ** 2).tolist() == case["greenwood_var_1_2"]
    assert np.isnan(curve.low[-1])


def test_without_events_the_curve_stays_at_one_and_has_no_median():
    case = published("survival", "km-hand-all-censored")
    curve = curve_of(case)
    assert curve.at(8) == (case.value("surv_at_8"), 1, 1)
    assert curve.quantile(0.5).value is None


def test_beyond_the_last_day_nothing_is_claimed():
    assert np.isnan(curve_of(FREIREICH).at(36)[0])
    assert curve_of(FREIREICH).at(35)[0] == pytest.approx(0.448179271708683)


@given(FOLLOWED)
@settings(max_examples=40, deadline=None)
def test_tallied_shuffled_and_real_numbered_days_change_nothing(rows):
    day, event = (np.array(column) for column in zip(*rows, strict=True))
    tally = [(*row, rows.count(row)) for row in sorted(set(rows), reverse=True)]
    one = kaplan_meier(day, event)
    other = kaplan_meier(*(np.array(column) for column in zip(*tally, strict=True)))
    real = kaplan_meier(day + 0.5, event)
    for curve in (other, real):
        assert curve.survival == pytest.approx(one.survival)
        assert curve.se == pytest.approx(one.se)
    assert (real.day - 0.5).tolist() == other.day.tolist() == one.day.tolist()


def test_follow_up_of_cases_that_leave_together_is_that_of_their_animals():
    # Each of 40 animals has two cases of one fate, a design effect of 2 but for the 40 / 39 of the sample variance.
    day = np.random.default_rng(1).integers(20, 200, 40)
    dead = np.arange(40) % 5 == 0
    animals, twice = follow_up(day, dead), follow_up(np.tile(day, 2), np.tile(dead, 2), animal=[*range(40)] * 2)
    assert (twice.value, twice.denominator, twice.animals) == (animals.value, 80, 40)
    assert twice.low <= animals.low < animals.high <= twice.high
    careless = follow_up(np.tile(day, 2), np.tile(dead, 2))
    assert twice.high - twice.low > careless.high - careless.low
    assert follow_up(day, dead, animal=range(40)) == animals


def test_follow_up_is_the_median_of_the_reversed_curve():
    # By hand: of 1, 2, 3*, 4, 5 (* event) the censorings leave 4/5, 3/5, (3/5)(1/2): half are left on day 4.
    found = follow_up([1, 2, 3, 4, 5], [False, False, True, False, False])
    assert (found.value, found.quantity) == (4, "median follow-up in days")
    assert follow_up([1, 2], [True, True]).value is None


def test_exact_poisson_limits_match_garwood():
    case = published("survival", "poisson-garwood-table")
    found = [observed_expected(count, 1.0) for count in case.data["O"]]
    assert [one.low for one in found] == case["lower"]
    assert [one.high for one in found] == case["upper"]
    with pytest.raises(AuditError, match="expected events are 0"):
        observed_expected(3, 0.0)


def test_ratio_of_deaths_matches_the_iowa_psychiatric_patients():
    case = published("survival", "onesample-iowa-psychiatric")
    found = observed_expected(case.data["O"], case.data["E"])
    assert found.value == case["SMR"]
    assert [found.low, found.high] == case["exact_ci"]


@pytest.mark.parametrize(
    ("case_id", "rate"), [("onesample-freireich-exponential", np.log(2) / 12), ("onesample-hand-four", 0.1)]
)
def test_one_sample_log_rank_matches(case_id, rate):
    case = published("survival", case_id)
    found = one_sample_log_rank(case.data["time"], case.data["status"], lambda day: rate * day)
    assert (found.observed, found.expected) == (case["O"], case["E"])
    assert found.ratio.value == case["O_over_E"]
    assert [found.ratio.low, found.ratio.high] == case["exact_ci"]
    assert found.chi_square == case["chisq"]


def test_one_sample_p_matches():
    case = published("survival", "onesample-freireich-exponential")
    found = one_sample_log_rank(case.data["time"], case.data["status"], lambda day: np.log(2) / 12 * day)
    assert (found.z, found.p) == (case["z"], case["p"])


@pytest.mark.parametrize(
    ("day", "event", "fault"),
    [
        ([1, -1], [1, 0], "before surgery"),
        ([1, np.nan], [1, 0], "a day is missing"),
        ([1, 2], [1, np.nan], "neither true nor false"),
        ([1, 2], [1], "differ in length"),
    ],
)
def test_faulty_days_are_named(day, event, fault):
    with pytest.raises(AuditError, match=fault):
        kaplan_meier(day, event)


def test_nothing_to_count_is_refused():
    with pytest.raises(EmptyGroup):
        kaplan_meier([], [])


def test_a_curve_of_several_blocks_without_censoring_is_the_share_left():
    n = 2 * BLOCK + 7
    curve = kaplan_meier(np.random.default_rng(1).permutation(n) + 0.5, np.ones(n, dtype=bool))
    left = 1 - np.arange(1, n + 1) / n
    assert curve.survival == pytest.approx(left, abs=1e-10)
    assert curve.se == pytest.approx(np.sqrt(left * (1 - left) / n), abs=1e-10)
