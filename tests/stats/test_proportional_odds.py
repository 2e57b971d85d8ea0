import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from statsmodels.discrete.discrete_model import Logit
from statsmodels.miscmodels.ordinal_model import OrderedModel

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import TIDY_COLUMNS
from audit.stats.proportional_odds import proportional_odds


def photographs(seed, animals=40, each=3):
    """Invented grades of hair that rise with the day, alike within an animal."""
    random = np.random.default_rng(seed)
    owner = np.repeat(np.arange(animals), each)
    x = np.column_stack((random.integers(0, 2, animals)[owner], np.tile(np.arange(each), animals)))
    liking = random.normal(size=animals)[owner] + random.logistic(size=len(owner)) + x @ [0.8, 0.7]
    return np.digitize(liking, [-0.5, 1, 2.5]), x.astype(float), owner


def wine():
    case = published("regression", "po-wine")
    return case, np.array(case.data["rating"]), np.column_stack((case.data["warm"], case.data["contact"]))


def test_bitterness_of_wine_as_published():
    # Randall JH. Biometrical J 1989;31:781-793; figures seen in the documentation of R's package ordinal.
    case, rating, x = wine()
    fit = proportional_odds(rating, x, ["warm", "contact"])
    errors = np.sqrt(np.diag(fit.naive))
    assert fit.coefficient.tolist() == case["slope"]
    assert fit.threshold.tolist() == case["threshold"]
    assert errors[:2].tolist() == case["slope_se"]
    assert errors[2:].tolist() == case["threshold_se"]
    assert fit.loglik == case["loglik"]
    assert 2 * (fit.loglik - proportional_odds(rating, x[:, :1], ["warm"]).loglik) == case["lr_contact"]


def test_tallied_housing_satisfaction_as_published():
    # Madsen 1976; Venables WN, Ripley BD. Modern Applied Statistics with S, 2002, section 7.3 (from memory).
    case = published("regression", "po-housing")
    data = {name: np.array(values) for name, values in case.data.items() if name != "meaning"}
    dummies = [data["influence"] == 2, data["influence"] == 3, *(data["type"] == kind for kind in (2, 3, 4))]
    x = np.column_stack((*dummies, data["contact"] == 2)).astype(float)
    names = ["medium", "high", "apartment", "atrium", "terrace", "contact"]
    fit = proportional_odds(data["satisfaction"], x, names, weight=data["count"])
    assert fit.coefficient.tolist() == case["slope"]
    assert fit.threshold.tolist() == case["threshold"]
    assert np.sqrt(np.diag(fit.naive))[:6].tolist() == case["slope_se"]
    assert -2 * fit.loglik == case["deviance"]
    assert fit.n == data["count"].sum()


def test_cheese_and_its_score_test_as_published():
    # McCullagh P, Nelder JA. Generalized Linear Models, 1989, Table 5.1; there more disliked is positive.
    case = published("regression", "po-cheese")
    counts = np.array(case.data["counts"])
    cheese, taste = np.indices(counts.shape).reshape(2, -1)
    x = np.equal.outer(cheese, [0, 1, 2]).astype(float)
    fit = proportional_odds(taste, x, ["A", "B", "C"], weight=counts.ravel())
    assert (-fit.coefficient).tolist() == case["slope"]
    assert fit.threshold.tolist() == case["threshold"]
    assert np.sqrt(np.diag(fit.naive))[:3].tolist() == case["slope_se_observed_information"]
    assert -2 * fit.loglik == case["minus2loglik"]
    assert fit.proportionality.df == 21
    assert fit.proportionality.chi_square == case["score_test"]
    assert fit.proportionality.p == case["score_p"]
    # The model without proportionality is saturated here, so the test is Pearson's of the fitted counts.
    fitted = np.array([fit.shares(row) for row in np.vstack((np.eye(3), np.zeros(3)))]) * counts.sum(axis=1)[:, None]
    assert fit.proportionality.chi_square == pytest.approx(((counts - fitted) ** 2 / fitted).sum(), rel=1e-5)


def test_score_test_finds_odds_that_change_between_cuts():
    # The factor moves only the lowest cut: none of one odds ratio fits both.
    grade, group = np.repeat([0, 1, 2] * 2, [60, 20, 40, 20, 60, 40]), np.repeat([0, 1], 120)
    assert proportional_odds(grade, group[:, None], ["mesh"]).proportionality.p < 1e-5


def test_clustered_covariance_is_the_jackknife_of_animals():
    grade, x, owner = photographs(1)
    fit = proportional_odds(grade, x, ["mesh", "day"], animal=owner)
    refits = []
    for animal in range(40):
        rest = owner != animal
        refit = proportional_odds(grade[rest], x[rest], ["mesh", "day"], animal=owner[rest])
        refits.append(np.append(refit.coefficient, refit.threshold))
    pull = np.array(refits) - np.append(fit.coefficient, fit.threshold)
    assert np.sqrt(np.diag(fit.robust)) == pytest.approx(np.sqrt(np.diag(pull.T @ pull) * 39 / 40), rel=0.03)


def test_with_many_animals_the_sandwich_is_that_of_statsmodels():
    grade, x, owner = photographs(2, animals=400)
    fit = proportional_odds(grade, x, ["mesh", "day"], animal=owner)
    groups = {"groups": owner, "use_correction": False}
    other = OrderedModel(grade, x, distr="logit").fit(method="newton", disp=False, cov_type="cluster", cov_kwds=groups)
    assert np.sqrt(np.diag(fit.robust))[:2] == pytest.approx(other.bse[:2] * np.sqrt(400 / 399), rel=0.01)


def test_every_photograph_twice_tells_no_more_than_once():
    grade, x, owner = photographs(3)
    once = proportional_odds(grade, x, ["mesh", "day"], animal=owner)
    twice = proportional_odds(np.tile(grade, 2), np.tile(x, (2, 1)), ["mesh", "day"], animal=np.tile(owner, 2))
    assert twice.robust == pytest.approx(once.robust, rel=1e-5)
    thrice = proportional_odds(np.tile(grade, 3), np.tile(x, (3, 1)), ["mesh", "day"], animal=np.tile(owner, 3))
    assert thrice.proportionality.chi_square == pytest.approx(twice.proportionality.chi_square, rel=1e-5)
    assert thrice.proportionality.design_effect == pytest.approx(1.5 * twice.proportionality.design_effect, rel=1e-5)


@given(st.integers(0, 1000), st.floats(0.1, 50), st.floats(-5, 5))
@settings(max_examples=12, deadline=None)
def test_names_of_grades_units_and_order_change_nothing(seed, unit, shift):
    grade, x, owner = photographs(seed)
    order = np.random.default_rng(seed).permutation(len(grade))
    plain = proportional_odds(grade, x, ["mesh", "day"], animal=owner)
    named = np.array(["H0", "H1", "H2", "H3"])[grade[order]]
    other = proportional_odds(named, shift + unit * x[order], ["mesh", "day"], animal=owner[order])
    assert other.grades == ("H0", "H1", "H2", "H3")
    assert other.coefficient * unit == pytest.approx(plain.coefficient, abs=1e-5)
    assert other.shares(shift + unit * x[0]) == pytest.approx(plain.shares(x[0]), abs=1e-5)
    assert other.proportionality.chi_square == pytest.approx(plain.proportionality.chi_square, rel=1e-4)
    down = proportional_odds(-grade, x, ["mesh", "day"], animal=owner)
    assert down.coefficient == pytest.approx(-plain.coefficient, abs=1e-5)


def test_frame_has_a_row_an_odds_ratio():
    grade, x, owner = photographs(4)
    fit = proportional_odds(grade, x, ["mesh", "day"], animal=owner)
    assert fit.frame.columns.tolist() == list(TIDY_COLUMNS)
    assert fit.frame.estimate.tolist() == pytest.approx(np.exp(fit.coefficient).tolist())
    assert (fit.frame.n[0], fit.frame.animals[0]) == (120, 40)
    assert "mesh" in fit._repr_html_()


def test_too_few_are_refused_in_words():
    grade, x, owner = photographs(5)
    with pytest.raises(TooFewData, match=r"for 2 coefficients; a model needs 20 a coefficient"):
        proportional_odds(grade[:60], x[:60], ["mesh", "day"], fewest=20)
    rare = np.where(np.arange(120) < 4, 9, grade)
    with pytest.raises(TooFewData, match="grade 9 has 2 animals and each grade needs 5"):
        proportional_odds(rare, x, ["mesh", "day"], animal=owner)
    settled = np.repeat([0, 1, 2], 10)
    with pytest.raises(TooFewData, match=r"settles the grade|has no maximum"):
        proportional_odds(settled, settled[:, None], ["mesh"])


@pytest.mark.parametrize(
    ("grade", "rows", "error", "fault"),
    [
        ([], 0, EmptyGroup, "no graft was graded"),
        ([1] * 20, 20, AuditError, "two grades"),
        ([1, 2], 3, AuditError, "not .rows, names."),
    ],
)
def test_faulty_rows_are_named(grade, rows, error, fault):
    with pytest.raises(error, match=fault):
        proportional_odds(grade, np.arange(rows)[:, None], ["day"])


def test_part_of_a_row_is_no_weight():
    with pytest.raises(AuditError, match="whole number"):
        proportional_odds([0, 1], [[0], [1]], ["day"], weight=[1, 0.5])


def test_two_grades_are_logistic_regression():
    grade, x, _ = photographs(6)
    took = (grade > 1).astype(int)
    fit = proportional_odds(took, x, ["mesh", "day"])
    other = Logit(took, np.column_stack((np.ones(120), x))).fit(disp=False)
    assert fit.coefficient == pytest.approx(other.params[1:], abs=1e-5)
    assert fit.threshold == pytest.approx([-other.params[0]], abs=1e-5)
    assert np.sqrt(np.diag(fit.naive))[:2] == pytest.approx(other.bse[1:], rel=1e-4)
    assert (fit.proportionality, fit.animals, fit.n) == (None, 120, 120)


def test_limits_are_students_on_the_animals_beyond_the_slopes():
    # Student's t, 90 % two-sided, with 40 - 2 - 1 = 37 degrees of freedom: 1.687094 (any table).
    grade, x, owner = photographs(7)
    fit = proportional_odds(grade, x, ["mesh", "day"], animal=owner, level=0.9)
    for j, ratio in enumerate(fit.odds_ratios):
        half = 1.687094 * np.sqrt(fit.robust[j, j])
        assert np.log([ratio.low, ratio.high]) == pytest.approx(fit.coefficient[j] + [-half, half], abs=1e-5)


def test_shares_are_the_steps_of_the_logistic_curve_and_tallied_rows_are_single_ones():
    grade, x, owner = photographs(8)
    count = np.arange(120) % 3
    tallied = proportional_odds(grade, x, ["mesh", "day"], animal=owner, weight=count)
    single = proportional_odds(
        np.repeat(grade, count), np.repeat(x, count, axis=0), ["mesh", "day"], animal=np.repeat(owner, count)
    )
    assert tallied.robust == pytest.approx(single.robust, rel=1e-8)
    assert (tallied.n, tallied.animals) == (single.n, single.animals) == (120, 40)
    at_or_below = 1 / (1 + np.exp(single.coefficient @ [1, 2] - single.threshold))
    assert np.cumsum(single.shares([1, 2])) == pytest.approx([*at_or_below, 1])


def test_five_animals_in_each_grade_are_enough_and_four_are_not():
    random = np.random.default_rng(9)
    grade, x = np.repeat([0, 1, 2], [5, 5, 20]), random.normal(size=(30, 2))
    assert proportional_odds(grade, x, ["area", "age"]).n == 30
    with pytest.raises(TooFewData, match=r"9 events .animals outside the commonest grade. for 2 coefficients"):
        proportional_odds(grade[1:], x[1:], ["area", "age"])
    with pytest.raises(TooFewData, match="grade 0 has 4 animals and each grade needs 5"):
        proportional_odds(grade[1:], x[1:, :1], ["area"])


def test_a_covariate_that_one_animal_carries_is_refused():
    grade, _, owner = photographs(10)
    with pytest.raises(TooFewData, match="one animal alone carries a covariate or a grade"):
        proportional_odds(grade, (owner == 3)[:, None], ["mesh"], animal=owner)


@pytest.mark.parametrize("seed", range(11, 17))
def test_one_photograph_an_animal_has_no_design_effect(seed):
    grade, x, _ = photographs(seed)
    found = proportional_odds(grade, x, ["mesh", "day"]).proportionality
    assert (found.design_effect, found.df) == (1, 4)


def test_covariates_nearly_alike_are_still_told_apart():
    random = np.random.default_rng(12)
    x = random.normal(size=60)
    x = np.column_stack((x, x + 0.2 * random.normal(size=60)))
    fit = proportional_odds(np.arange(60) % 3, x, ["area", "perimeter"])
    assert np.linalg.eigvalsh(np.linalg.inv(fit.naive))[0] < 1 < np.linalg.eigvalsh(np.linalg.inv(fit.naive))[1]


def test_covariance_of_few_animals_by_hand_for_two_grades():
    # Logistic regression: scores (took - p) (x, -1), information p (1 - p) (x, -1)(x, -1)'; each animal's scores are
    # weighed by the information of the others.
    random = np.random.default_rng(13)
    owner, x = np.repeat(range(10), 3), random.normal(size=30)
    took = (x + random.logistic(size=30) > 0).astype(int)
    fit = proportional_odds(took, x[:, None], ["area"], animal=owner)
    rows, p = np.column_stack((x, -np.ones(30))), np.array([fit.shares([value])[1] for value in x])
    moved = [
        np.linalg.solve(
            (rows[owner != animal].T * (p * (1 - p))[owner != animal]) @ rows[owner != animal],
            ((took - p)[:, None] * rows)[owner == animal].sum(axis=0),
        )
        for animal in range(10)
    ]
    assert fit.robust == pytest.approx(np.transpose(moved) @ moved * 9 / 10, rel=1e-4)
