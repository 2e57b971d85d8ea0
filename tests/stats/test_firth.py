from itertools import product

import numpy as np
import pytest
from published import published
from scipy.optimize import minimize_scalar
from scipy.special import expit
from scipy.stats import chi2

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import TIDY_COLUMNS
from audit.stats.firth import firth_logistic


def test_endometrial_cancer_as_published():
    # Heinze G, Schemper M. Stat Med 2002;21:2409-2419 (printed figures from memory, recomputed with brglm2).
    case = published("regression", "firth-endometrial")
    names = ["NV", "PI", "EH"]
    fit = firth_logistic(case.data["HG"], np.column_stack([case.data[name] for name in names]), names)
    assert fit.coefficient.tolist() == case["coef"]
    assert np.sqrt(np.diag(fit.covariance)).tolist() == case["se"]
    assert fit.penalised_loglik == case["penalised_loglik"]
    assert list(fit.chi_square) == case["plr_chisq"]
    for ratio in fit.odds_ratios:
        assert np.log([ratio.low, ratio.high]).tolist() == case[f"profile_ci_{ratio.group}"]


def test_two_by_two_adds_half_a_case_to_each_cell():
    case = published("regression", "firth-2x2")
    (none, some), (first, second) = case.data["x"], case.data["n"]
    fit = firth_logistic([1, 0, 1, 0], [[0], [0], [1], [1]], ["x"], weight=[none, first - none, some, second - some])
    assert fit.coefficient[0] == case["intercept"]
    assert np.log(fit.odds_ratios[0].value) == case["log_or"]


def test_all_took_has_a_finite_share():
    case = published("regression", "firth-intercept")
    fit = firth_logistic([1] * case.data["x"], np.empty((case.data["n"], 0)), [])
    assert fit.share([]) == case["probability"]
    assert fit.coefficient[0] == case["logit"]


def test_intercept_alone_still_refuses_no_cases():
    with pytest.raises(EmptyGroup, match="no cases"):
        firth_logistic([], np.empty((0, 0)), [])


def test_maximum_is_no_lower_than_its_neighbours():
    # The penalised likelihood written out anew, looked at on all sides of the fit.
    random = np.random.default_rng(5)
    x = np.column_stack((random.normal(size=40), random.integers(0, 2, 40)))
    y = (x[:, 0] + x[:, 1] + random.logistic(size=40) > 0.5).astype(float)
    fit = firth_logistic(y, x, ["a", "b"])
    design = np.column_stack((np.ones(40), x))

    def penalised(b):
        p = expit(design @ b)
        return np.log(np.where(y == 1, p, 1 - p)).sum() + np.linalg.slogdet(design.T * (p * (1 - p)) @ design)[1] / 2

    top = penalised(fit.coefficient)
    assert fit.penalised_loglik == pytest.approx(top, abs=1e-9)
    for way in product((-1e-3, 0, 1e-3), repeat=3):
        assert penalised(fit.coefficient + way) <= top + 1e-12


def test_scale_and_origin_of_a_covariate_do_not_matter():
    random = np.random.default_rng(6)
    x = random.normal(size=60)
    y = (x + random.logistic(size=60) > 0).astype(float)
    plain, shifted = (firth_logistic(y, column, ["x"]) for column in (x[:, None], (1000 + 50 * x)[:, None]))
    assert shifted.coefficient[1] * 50 == pytest.approx(plain.coefficient[1], rel=1e-7)
    assert np.log(shifted.odds_ratios[0].high) * 50 == pytest.approx(np.log(plain.odds_ratios[0].high), rel=1e-6)
    assert shifted.p == pytest.approx(plain.p, rel=1e-6)


def test_frame_has_a_row_an_odds_ratio():
    fit = firth_logistic([0] * 10 + [1] * 5 + [0] * 5, [[0]] * 10 + [[1]] * 10, ["distal limb"])
    assert fit.frame.columns.tolist() == list(TIDY_COLUMNS)
    row, found = fit.frame.iloc[0], fit.odds_ratios[0]
    assert (row.term, row.group) == ("odds ratio", "distal limb")
    assert (row.estimate, row.low, row.high) == (found.value, found.low, found.high)
    assert (row.level, row.n, row.animals) == (0.95, 20, 20)
    assert "distal limb" in fit._repr_html_()


def test_too_few_events_are_refused_in_words():
    with pytest.raises(TooFewData, match=r"4 events of the rarer outcome for 1 coefficients; a model needs 5"):
        firth_logistic([0] * 16 + [1] * 4, np.arange(20)[:, None], ["area"])


@pytest.mark.parametrize(
    ("outcome", "covariates", "fault"),
    [
        ([0, 1] * 10, np.ones((20, 1)), "do not vary"),
        ([0, 1] * 10, np.ones((10, 1)), "not .rows, names."),
        ([0, 2] * 10, np.arange(20)[:, None], "not 0 or 1"),
        ([0, 1] * 10, np.append(np.arange(19.0), np.nan)[:, None], "row 19: no area"),
        ([0, 1] * 10, np.ones((20, 2)), "give a column a name"),
    ],
)
def test_faulty_rows_are_named(outcome, covariates, fault):
    with pytest.raises(AuditError, match=fault):
        firth_logistic(outcome, covariates, ["area"])


def test_tallied_rows_are_single_ones_and_rows_of_none_are_left_out():
    x, y, count = np.array([0.0, 1, 2, 3, 4, 9]), np.array([0, 1, 0, 1, 1, 1]), np.array([6, 3, 5, 4, 2, 0])
    tallied = firth_logistic(y, x[:, None], ["x"], weight=count)
    single = firth_logistic(np.repeat(y, count), np.repeat(x, count)[:, None], ["x"])
    assert tallied.coefficient == pytest.approx(single.coefficient, abs=1e-8)
    assert tallied.covariance == pytest.approx(single.covariance, rel=1e-6)
    assert tallied.penalised_loglik == pytest.approx(single.penalised_loglik)
    assert (tallied.n, tallied.events) == (single.n, single.events) == (20, 9)
    assert tallied.odds_ratios[0].high == pytest.approx(single.odds_ratios[0].high, rel=1e-6)


def test_limits_are_where_the_profile_has_fallen_as_far_as_chance_allows():
    # Two groups: the penalised likelihood of a table, at its highest over the intercept, for each log odds ratio.
    yes, n = np.array([3, 9]), np.array([12, 14])
    fit = firth_logistic([1, 0, 1, 0], [[0], [0], [1], [1]], ["x"], weight=[3, 9, 9, 5], level=0.9)

    def profile(slope):
        def fall(intercept):
            p = expit(intercept + slope * np.array([0, 1]))
            w = n * p * (1 - p)
            return -(yes * np.log(p) + (n - yes) * np.log(1 - p)).sum() - np.log(w[0] * w[1]) / 2

        return -minimize_scalar(fall, bounds=(-6, 6), method="bounded", options={"xatol": 1e-10}).fun

    (ratio,), top = fit.odds_ratios, profile(fit.coefficient[1])
    falls = [2 * (top - profile(np.log(limit))) for limit in (ratio.low, ratio.high)]
    assert falls == pytest.approx([2.705543, 2.705543], abs=1e-5)  # chi-square with 1 degree of freedom, any table
    assert ratio.low < ratio.value < ratio.high
    assert fit.chi_square[0] == pytest.approx(2 * (top - profile(0)), abs=1e-6)
    assert fit.p[0] == pytest.approx(chi2.sf(fit.chi_square[0], 1))


def test_five_events_a_covariate_are_enough():
    x = np.random.default_rng(7).normal(size=(30, 1))
    assert firth_logistic([1] * 5 + [0] * 25, x, ["x"]).events == 5
    assert firth_logistic([0] * 5 + [1] * 25, x, ["x"]).events == 5
