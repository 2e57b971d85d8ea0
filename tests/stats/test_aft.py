import warnings

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lifelines import WeibullAFTFitter
from published import published
from visits import INF, days

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import TIDY_COLUMNS
from audit.stats.aft import aft, residual_check


def practice(seed, animals=40, scale=0.4, grafts=1):
    """Invented visits every 3 to 7 days of grafts that heal about day 22, later with the first covariate."""
    random = np.random.default_rng(seed)
    owner = np.repeat(np.arange(animals), random.integers(1, grafts + 1, animals))
    x = np.column_stack((random.integers(0, 2, animals), random.normal(size=animals)))[owner]
    gap = random.choice([3, 5, 7], animals)[owner]
    heals = np.exp(3.1 + x @ [0.4, -0.2] + scale * np.log(random.exponential(size=len(owner))))
    lost = random.uniform(15, 120, animals)[owner] < heals
    left = np.floor(heals / gap) * gap
    return left, np.where(lost, INF, left + gap), x, owner


def loglik(theta, left, right, x):
    """The likelihood anew: the share healed between two days, or the density on an exact day."""
    eta, scale = x @ theta[1:-1] + theta[0], np.exp(theta[-1])
    with np.errstate(divide="ignore"):
        low, high = (np.log(left) - eta) / scale, (np.log(right) - eta) / scale
    between, density = np.exp(-np.exp(low)) - np.exp(-np.exp(high)), np.exp(low - np.exp(low))
    exact = left == right
    return float(np.log(between[~exact]).sum() + np.log(density[exact] / scale / left[exact]).sum())


def test_breast_cosmesis_as_recomputed_in_r():
    # Recomputed with survreg on the data of Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945.
    case = published("regression", "ic-cosmesis-weibull")
    left, right, _ = days(case)
    group = np.array(case.data["group"]) == "RCT"
    fit = aft(left, right, group[:, None], ["radiotherapy with chemotherapy"])
    assert [*fit.coefficient, fit.log_scale] == case["aft_coef"]
    assert np.sqrt(np.diag(fit.naive)).tolist() == case["aft_se"]
    assert fit.loglik == case["loglik"]
    assert aft(left, right, np.empty((len(left), 0)), []).loglik == case["loglik_null"]


def test_radiotherapy_alone_as_recomputed_in_r():
    # Recomputed with survreg on the data of Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945.
    case = published("regression", "ic-cosmesis-weibull-rt")
    left, right, _ = days(case)
    fit = aft(left, right, np.empty((len(left), 0)), [])
    assert [fit.coefficient[0], fit.log_scale] == case["coef"]
    assert np.sqrt(np.diag(fit.naive)).tolist() == case["se"]
    assert fit.loglik == case["loglik"]
    assert fit.share(case.value("median"), []) == pytest.approx(0.5)


def test_tallied_exact_and_interval_days_as_recomputed_in_r():
    # Recomputed with survreg on the data of Borch-Johnsen et al. 1985 (diabetic nephropathy, 731 patients).
    case = published("regression", "ic-diabetes-weibull")
    fit = aft(case.data["left"], case.data["right"], np.c_[case.data["male"]], ["male"], weight=case.data["count"])
    assert [*fit.coefficient, fit.log_scale] == case["aft_coef"]
    assert np.sqrt(np.diag(fit.naive)).tolist() == case["aft_se"]
    assert fit.loglik == case["loglik"]
    assert fit.n == fit.animals == 731


def test_everyone_seen_once_gives_the_closed_form():
    # One visit cannot tell shape from scale; along any shape the share by that day is the share seen healed.
    case = published("regression", "ic-hand-exponential")
    left, right, _ = days(case)
    fit = aft(left, right, np.empty((len(left), 0)), [])
    assert fit.penalised
    assert fit.share(6, []) == pytest.approx(case.value("npmle_mass")[0], abs=1e-6)
    assert fit.loglik == case["loglik"]


def test_lifelines_fits_the_same():
    left, right, x, _ = practice(1)
    fit = aft(left, right, x, ["distal", "area"])
    frame = pd.DataFrame({"left": left, "right": right, "distal": x[:, 0], "area": x[:, 1]})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = WeibullAFTFitter().fit_interval_censoring(frame, "left", "right")
    names = ["Intercept", "distal", "area"]
    middle = "lambda_"
    assert fit.coefficient == pytest.approx(other.params_[middle][names].to_numpy(), abs=2e-4)
    assert fit.log_scale == pytest.approx(-other.params_["rho_"]["Intercept"], abs=2e-4)
    errors = other.standard_errors_[middle][names].to_numpy()
    assert np.sqrt(np.diag(fit.naive))[:3] == pytest.approx(errors, rel=1e-3)
    assert fit.loglik >= other.log_likelihood_ - 1e-6


def test_covariance_is_the_inverse_curvature_by_finite_differences():
    left, right, x, _ = practice(2)
    left[:5] = right[:5] = [9, 14, 20, 31, 40]
    fit = aft(left, right, x, ["distal", "area"])
    top = np.append(fit.coefficient, fit.log_scale)
    height = loglik(top, left, right, x)
    step = 1e-3 * np.eye(4)

    def at(way):
        return loglik(top + way, left, right, x)

    slope = [(at(way) - at(-way)) / 2e-3 for way in step]
    curvature = [[(at(a + b) - at(a - b) - at(b - a) + at(-a - b)) / 4e-6 for a in step] for b in step]
    assert fit.loglik == pytest.approx(height, abs=1e-9)
    assert slope == pytest.approx(np.zeros(4), abs=1e-3)
    assert fit.naive == pytest.approx(np.linalg.inv(-np.array(curvature)), rel=1e-3, abs=1e-6)


def test_robust_covariance_is_the_jackknife_of_animals():
    # The leave-one-out sandwich is one Newton step of the true jackknife, here refitted in full.
    names = ["distal", "area"]
    left, right, x, owner = practice(3, animals=60, grafts=3)
    fit = aft(left, right, x, names, animal=owner)
    refits = []
    for animal in range(60):
        rest = owner != animal
        refit = aft(left[rest], right[rest], x[rest], names, animal=owner[rest])
        refits.append(np.append(refit.coefficient, refit.log_scale))
    pull = np.array(refits) - np.append(fit.coefficient, fit.log_scale)
    assert np.sqrt(np.diag(fit.robust)) == pytest.approx(np.sqrt(np.diag(pull.T @ pull) * 59 / 60), rel=0.05)


def test_every_graft_twice_tells_no_more_than_once():
    left, right, x, owner = practice(4)
    once = aft(left, right, x, ["distal", "area"], animal=owner)
    twice = aft(np.tile(left, 2), np.tile(right, 2), np.tile(x, (2, 1)), ["distal", "area"], animal=np.tile(owner, 2))
    assert twice.coefficient == pytest.approx(once.coefficient, abs=1e-8)
    assert twice.robust == pytest.approx(once.robust, rel=1e-6)
    assert (twice.n, twice.animals, twice.events) == (80, 40, once.events)


def test_large_and_small_samples_join_up():
    left, right, x, _ = practice(5, animals=501)
    large = aft(left, right, x, ["distal", "area"])
    small = aft(left[:500], right[:500], x[:500], ["distal", "area"])
    assert np.sqrt(np.diag(large.robust)) == pytest.approx(np.sqrt(np.diag(small.robust)), rel=0.03)


@given(st.integers(0, 10_000), st.floats(0.1, 20), st.floats(-5, 5), st.floats(0.1, 100))
@settings(max_examples=25, deadline=None)
def test_units_and_order_of_rows_change_nothing(seed, stretch, shift, unit):
    left, right, x, owner = practice(seed)
    order = np.random.default_rng(seed).permutation(len(left))
    plain = aft(left, right, x, ["distal", "area"], animal=owner)
    other = aft(
        stretch * left[order],
        stretch * right[order],
        shift + unit * x[order],
        ["distal", "area"],
        animal=owner[order],
    )
    assert other.coefficient[1:] * unit == pytest.approx(plain.coefficient[1:], abs=1e-6)
    assert other.log_scale == pytest.approx(plain.log_scale, abs=1e-6)
    assert other.time_ratios[0].low ** unit == pytest.approx(plain.time_ratios[0].low, rel=1e-5)


@given(st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_tallied_rows_equal_single_rows(seed):
    left, right, x, _ = practice(seed)
    x = x[:, :1]
    table, count = np.unique(np.column_stack((left, right, x)), axis=0, return_counts=True)
    single = aft(left, right, x, ["distal"])
    tallied = aft(table[:, 0], table[:, 1], table[:, 2:], ["distal"], weight=count)
    assert tallied.coefficient == pytest.approx(single.coefficient, abs=1e-8)
    assert tallied.robust == pytest.approx(single.robust, rel=1e-6)
    assert (tallied.n, tallied.events, tallied.animals) == (single.n, single.events, single.animals)


def test_a_factor_that_settles_all_is_held_and_said():
    # None of the six with the factor was seen to heal: their time ratio has no upper bound, only a lower one.
    left, right = [7] * 3 + [14] * 4 + [21] * 3 + [28] * 6, [14] * 3 + [21] * 4 + [28] * 3 + [INF] * 6
    fit = aft(left, right, [[0]] * 10 + [[1]] * 6, ["exposed bone"])
    (ratio,) = fit.time_ratios
    assert fit.penalised
    assert "the likelihood has no maximum" in ratio.method
    assert ratio.low < 2 < ratio.value < ratio.high < INF


def test_residuals_of_the_right_model_are_near_and_of_the_wrong_one_far():
    left, right, x, _ = practice(6, animals=2000)
    right_fit = aft(left, right, x, ["distal", "area"])
    blind_fit = aft(left, right, x[:, 1:], ["area"])
    near = residual_check(right_fit, left, right, x, group=x[:, 0].astype(int))
    far = residual_check(blind_fit, left, right, x[:, 1:], group=x[:, 0].astype(int))
    assert [check.group for check in near] == ["0", "1"]
    assert max(check.distance for check in near) < 0.07 < 0.12 < min(check.distance for check in far)
    (overall,) = residual_check(right_fit, left, right, x)
    assert overall.n == 2000
    assert overall.distance < 0.06


def test_distance_is_that_of_the_two_curves():
    # All exact, no covariate: the greatest distance between the step curve and the model's, by hand.
    day = np.array([5.0, 8, 9, 14, 20, 21, 30, 44])
    fit = aft(day, day, np.empty((8, 0)), [])
    share, step = fit.share(day, np.empty((8, 0))), np.arange(9) / 8
    (check,) = residual_check(fit, day, day, np.empty((8, 0)))
    assert check.distance == pytest.approx(max(np.abs(share - step[:-1]).max(), np.abs(share - step[1:]).max()))


def test_frame_has_a_row_a_time_ratio():
    left, right, x, owner = practice(7)
    fit = aft(left, right, x, ["distal limb", "log area"], animal=owner)
    assert fit.frame.columns.tolist() == list(TIDY_COLUMNS)
    assert fit.frame.group.tolist() == ["distal limb", "log area"]
    assert set(fit.frame.term) == {"time ratio"}
    # An array and a single number are not raised by the same code on every processor: the last digit may differ.
    assert fit.frame.estimate.tolist() == pytest.approx(np.exp(fit.coefficient[1:]), rel=1e-14)
    assert "distal limb" in fit._repr_html_()


def test_too_few_animals_are_refused_in_words():
    left, right = [0] * 9 + [7] * 9, [7] * 9 + [INF] * 9
    x = np.random.default_rng(8).normal(size=(18, 2))
    with pytest.raises(TooFewData, match=r"9 events \(animals seen healed\) for 2 coefficients; a model needs 5"):
        aft(left, right, x, ["area", "age"])
    with pytest.raises(TooFewData, match="3 events"):
        aft(left, right, x[:, :1], ["area"], animal=np.arange(18) // 3)


def test_a_covariate_that_one_animal_carries_is_refused():
    left, right, _, owner = practice(9)
    with pytest.raises(TooFewData, match="one animal alone carries a covariate"):
        aft(left, right, (owner == 3)[:, None], ["mesh"], animal=owner)


def test_limits_are_students_on_the_animals_beyond_the_coefficients():
    # Student's t, 90 % two-sided, with 40 - 3 = 37 degrees of freedom: 1.687094 (any table).
    left, right, x, _ = practice(10)
    fit = aft(left, right, x, ["distal", "area"], level=0.9)
    for j, ratio in enumerate(fit.time_ratios, start=1):
        half = 1.687094 * np.sqrt(fit.robust[j, j])
        assert np.log([ratio.low, ratio.high]) == pytest.approx(fit.coefficient[j] + [-half, half], abs=1e-5)
        assert (ratio.numerator, ratio.denominator, ratio.level) == ((right < INF).sum(), 40, 0.9)


def test_share_rises_from_none_on_day_0_to_all():
    left, right, x, _ = practice(11)
    fit = aft(left, right, x, ["distal", "area"])
    assert fit.share([0, INF], [0, 0]).tolist() == [0, 1]
    # Weibull's own form, by hand: 1 - exp(-(day / exp(eta))^(1 / scale)).
    eta = fit.coefficient @ [1, 1, 0.5]
    assert fit.share(20, [1, 0.5]) == pytest.approx(1 - np.exp(-((20 / np.exp(eta)) ** np.exp(-fit.log_scale))))


def test_events_and_animals_are_counted_without_rows_of_weight_0():
    left, right, x, owner = practice(12, animals=30, grafts=3)
    kept = owner != 4
    fit = aft(left, right, x, ["distal", "area"], animal=owner, weight=kept.astype(float))
    other = aft(left[kept], right[kept], x[kept], ["distal", "area"], animal=owner[kept])
    assert fit.robust == pytest.approx(other.robust, rel=1e-8)
    assert (fit.n, fit.events, fit.animals) == (kept.sum(), len(np.unique(owner[kept & (right < INF)])), 29)
    assert (other.n, other.events, other.animals) == (fit.n, fit.events, fit.animals)


def test_as_many_animals_as_the_rules_ask_for_are_enough():
    day = np.array([5.0, 9, 14, 20, 30])
    assert aft(day, day, np.empty((5, 0)), []).events == 5
    assert aft([5, 14, 20], [5, 14, 20], np.empty((3, 0)), [], fewest=1).animals == 3
    with pytest.raises(TooFewData, match="2 animals cannot bear 1 coefficients and a scale"):
        aft(day[:2], day[:2], np.empty((2, 0)), [], fewest=1)
    with pytest.raises(TooFewData, match="0 events"):
        aft([7] * 6, [INF] * 6, np.empty((6, 0)), [], fewest=1)


def test_residuals_of_tallied_rows_are_those_of_single_ones():
    left, right, x, _ = practice(13)
    fit = aft(left, right, x, ["distal", "area"])
    twice = residual_check(fit, np.tile(left, 2), np.tile(right, 2), np.tile(x, (2, 1)), group=["a"] * 80)
    (tallied,) = residual_check(fit, left, right, x, group=["a"] * 40, weight=[2] * 40)
    assert (tallied.group, tallied.n) == ("a", 80)
    assert tallied.distance == pytest.approx(twice[0].distance, abs=1e-6)


@pytest.mark.parametrize(
    ("left", "right", "error", "fault"),
    [
        ([7] * 8, [7] * 8, TooFewData, "days do not vary enough"),
        ([0] * 8, [0] * 8, AuditError, r"row 0: \(0, 0\]"),
        ([9] * 8, [7] * 8, AuditError, r"row 0: \(9, 7\]"),
        ([-1] * 8, [7] * 8, AuditError, "row 0: left day -1 is not 0 or above"),
        ([7] * 8, [14] * 7, AuditError, "differ in length"),
        ([], [], EmptyGroup, "no cases"),
    ],
)
def test_faulty_days_are_named(left, right, error, fault):
    with pytest.raises(error, match=fault):
        aft(left, right, np.empty((len(left), 0)), [])
