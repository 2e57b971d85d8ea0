from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from scipy.stats import fisher_exact
from statsmodels.stats.proportion import proportion_confint
from visits import wilson

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import Estimate
from audit.stats.proportions import (
    binomial_limit,
    clopper_pearson,
    clustered_share,
    funnel_limits,
    newcombe_difference,
    permutation_p,
)

ANIMALS = st.lists(
    st.integers(1, 4).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), min_size=2, max_size=12
)


def limits(estimate):
    return [estimate.low, estimate.high]


# Newcombe RG. Stat Med 1998;17:857-872, Table I; limits recomputed in R, see tests/reference/proportions.json.
@pytest.mark.parametrize("case_id", ["binom-newcombe-81-263", "binom-newcombe-0-20"])
def test_intervals_match_newcombe(case_id):
    case = published("proportions", case_id)
    x, n = case.data["x"], case.data["n"]
    assert limits(wilson(x, n)) == case["wilson"]
    assert limits(clopper_pearson(x, n)) == case["clopper_pearson"]


# Closed forms: Clopper-Pearson's lower limit for n of n is (alpha / 2) ** (1 / n).
def test_all_of_n_has_an_informative_lower_limit():
    case = published("proportions", "binom-all-success")
    counts = list(zip(case.data["x"], case.data["n"], strict=True))
    assert [wilson(x, n).low for x, n in counts] == case["wilson_lower"]
    assert [clopper_pearson(x, n).low for x, n in counts] == case["clopper_pearson_lower"]
    assert {method(x, n).high for x, n in counts for method in (wilson, clopper_pearson)} == {1.0}


def test_level_is_not_hard_wired():
    case = published("proportions", "binom-90-level")
    assert limits(wilson(17, 20, level=0.9)) == case["wilson"]
    assert limits(clopper_pearson(17, 20, level=0.9)) == case["clopper_pearson"]


# Worked by hand from the closed forms, rounded to a tenth of a percent.
def test_hand_values_of_small_series():
    assert limits(clopper_pearson(27, 30)) == pytest.approx([0.735, 0.979], abs=5e-4)
    assert limits(wilson(27, 30)) == pytest.approx([0.744, 0.965], abs=5e-4)
    assert clopper_pearson(0, 7).high == pytest.approx(0.410, abs=5e-4)


def test_nothing_counted_and_impossible_counts_are_refused():
    with pytest.raises(EmptyGroup, match="no cases"):
        wilson(0, 0)
    with pytest.raises(AuditError, match="row 1: 3 of 2"):
        clustered_share([1, 3], [1, 2])


# Rao JNK, Scott AJ. Biometrics 1992;48:577-585, litters of Weil (1970); design effects as in R package aod.
# Donner A. Biometrics 1989;45:605 for the correlation.
def test_design_effect_and_correlation_match_the_litters():
    case = published("proportions", "cluster-rats-raoscott")
    group = np.array(case.data["group"])
    y, n = np.array(case.data["y"]), np.array(case.data["n"])
    found = [clustered_share(y[group == name], n[group == name]) for name in ("CTRL", "TREAT")]
    assert [share.estimate.value for share in found] == case["p"]
    assert [share.design_effect for share in found] == case["deff"]
    assert [share.effective_n for share in found] == case["n_effective"]
    donner = published("proportions", "cluster-rats-donner")
    assert found[1].intra_animal_correlation == donner["icc_treated"]


def test_three_clusters_by_hand():
    case = published("proportions", "cluster-hand-three")
    found = clustered_share(case.data["y"], case.data["n"])
    assert found.estimate.value == case["p"]
    assert found.design_effect == case["deff"]
    assert found.intra_animal_correlation == case["icc"]


# Student's t, 0.975, from printed tables: 2.570582 with 5 and 4.302653 with 2 degrees of freedom.
def test_few_animals_shorten_the_effective_number():
    found = clustered_share([2, 1, 0], [2, 2, 2]).estimate
    effective = 3 * (2.570582 / 4.302653) ** 2
    expected = proportion_confint(effective / 2, effective, alpha=0.05, method="wilson")
    assert limits(found) == pytest.approx(list(expected), abs=1e-6)


@given(st.lists(st.integers(0, 1), min_size=1, max_size=30))
@settings(deadline=None)
def test_one_graft_an_animal_is_wilson_exactly(outcomes):
    found = clustered_share(outcomes, np.ones(len(outcomes)))
    assert (found.design_effect, found.effective_n) == (1.0, len(outcomes))
    assert limits(found.estimate) == limits(wilson(sum(outcomes), len(outcomes)))


@pytest.mark.parametrize("outcome", [0, 1])
def test_outcomes_all_alike_count_animals(outcome):
    found = clustered_share(np.array([3, 2, 1]) * outcome, [3, 2, 1])
    assert limits(found.estimate) == pytest.approx(limits(wilson(3 * outcome, 3)))
    assert found.effective_n == 3


def test_one_animal_tells_as_much_as_one_case():
    found = clustered_share([2], [4])
    assert (found.effective_n, found.intra_animal_correlation) == (1, None)
    assert limits(found.estimate) == pytest.approx(list(proportion_confint(0.5, 1, alpha=0.05, method="wilson")))
    # Two animals of opposite outcome leave nearly everything open.
    assert clustered_share([4, 0], [4, 4]).estimate.low < 0.02


@given(ANIMALS, st.randoms(use_true_random=False))
@settings(deadline=None)
def test_row_order_and_tallies_change_nothing(animals, random):
    y, n = np.array(animals).T
    whole = clustered_share(y, n)
    shuffled = random.sample(animals, len(animals))
    kinds, counts = np.unique(animals, axis=0, return_counts=True)
    for other in (clustered_share(*np.array(shuffled).T), clustered_share(*kinds.T, weight=counts)):
        assert limits(other.estimate) == pytest.approx(limits(whole.estimate), abs=1e-12)
        assert other.design_effect == pytest.approx(whole.design_effect)
        assert other.estimate.animals == whole.estimate.animals


def test_clustered_interval_covers_the_truth():
    """Planted truth: 20 animals, 30 grafts, correlation 0.6, true share 0.8."""
    generator = np.random.default_rng(7)
    covered = 0
    for _ in range(600):
        grafts = 1 + generator.multinomial(10, np.full(20, 1 / 20))
        took = generator.binomial(grafts, generator.beta(0.8 * 2 / 3, 0.2 * 2 / 3, size=20))
        estimate = clustered_share(took, grafts).estimate
        covered += estimate.low <= 0.8 <= estimate.high
    assert 0.92 <= covered / 600 <= 0.975


# Newcombe RG. Stat Med 1998;17:873-890, Table II, method 10, contrasts (a) to (d).
def test_difference_matches_newcombe():
    case = published("proportions", "propdiff-newcombe-a")
    d = case.data
    found = [
        newcombe_difference(wilson(x1, n1), wilson(x2, n2))
        for x1, n1, x2, n2 in zip(d["x1"], d["n1"], d["x2"], d["n2"], strict=True)
    ]
    assert [difference.value for difference in found] == case["difference"]
    assert [difference.low for difference in found] == case["lower"]
    assert [difference.high for difference in found] == case["upper"]
    assert found[0].animals == 150


def test_a_difference_of_bounded_shares_is_bounded():
    bounded = Estimate(
        quantity="healed by day 21",
        value=0.4,
        value_to=0.6,
        low=0.3,
        high=0.7,
        level=0.95,
        method="profile likelihood",
        unit="animals",
    )
    found = newcombe_difference(bounded, bounded)
    assert (found.value, found.value_to) == pytest.approx((-0.2, 0.2))
    assert (found.low, found.high) == pytest.approx((-0.2 - np.hypot(0.1, 0.1), 0.2 + np.hypot(0.1, 0.1)))


def test_a_difference_without_interval_or_with_two_levels_is_refused():
    unknown = Estimate(
        quantity="healed by day 21",
        value=None,
        value_to=None,
        low=None,
        high=None,
        level=0.95,
        method="none",
        unit="animals",
    )
    with pytest.raises(TooFewData, match="healed by day 21"):
        newcombe_difference(unknown, wilson(1, 2))
    with pytest.raises(AuditError, match=r"at 0\.9"):
        newcombe_difference(wilson(1, 2, level=0.9), wilson(1, 2))


# Spiegelhalter DJ. Stat Med 2005;24:1185-1202, appendix A.1.1; limits recomputed in R.
def test_funnel_limits_match_spiegelhalter():
    case = published("proportions", "funnel-exact-limits")
    n, target = case.data["n"], case.data["target"]
    names = ["p001", "p025", "p975", "p999"]
    for probability, name in zip(case.data["p"], names, strict=True):
        assert list(binomial_limit(probability, n, target)) == case[name]
    low, high = funnel_limits(target, n, level=0.95)
    assert list(low) == case["p025"]
    assert list(high) == case["p975"]


def test_funnel_limit_by_hand_is_cut_for_drawing():
    case = published("proportions", "funnel-hand")
    n, target = case.data["n"], case.data["target"]
    assert binomial_limit(case.data["p"], [n], target)[0] == case["limit_unclipped"]
    assert funnel_limits(target, [n], level=0.95)[0][0] == 0


def singles(took, total):
    return np.repeat([1, 0], [took, total - took]), np.ones(total, dtype=int)


# With one graft an animal and groups of one size the test is Fisher's (scipy as the reference).
@pytest.mark.parametrize(("a", "b"), [((9, 10), (3, 10)), ((4, 8), (3, 8)), ((7, 7), (2, 7))])
def test_permutation_of_single_grafts_is_fishers_test(a, b, rng):
    p, method = permutation_p(singles(*a), singles(*b), rng=rng)
    table = [[a[0], a[1] - a[0]], [b[0], b[1] - b[0]]]
    assert p == pytest.approx(fisher_exact(table).pvalue)
    assert method.startswith("exact")


def test_drawn_permutations_agree_with_the_listed_ones(rng, monkeypatch):
    first, second = ([3, 1, 2, 0, 2], [3, 2, 2, 1, 2]), ([0, 1, 1, 0, 2, 1], [2, 3, 1, 1, 4, 2])
    listed, _ = permutation_p(first, second, rng=rng)
    monkeypatch.setattr("audit.stats.permutation.ENUMERATE_UP_TO", 1)
    drawn, method = permutation_p(first, second, rng=rng, draws=20_000)
    assert method == "20,000 random permutations"
    assert drawn == pytest.approx(listed, abs=4 * np.sqrt(listed / 20_000))


def test_animals_without_a_known_graft_and_rows_of_none_change_nothing():
    whole = clustered_share([2, 0, 3, 1], [2, 2, 4, 1])
    assert clustered_share([2, 0, 0, 3, 1], [2, 2, 0, 4, 1]) == whole
    assert clustered_share([2, 0, 5, 3, 1], [2, 2, 9, 4, 1], weight=[1, 1, 0, 1, 1]) == whole
    with pytest.raises(EmptyGroup):
        clustered_share([1, 0], [1, 0], weight=[0, 1])


def test_counts_and_words_go_with_the_share():
    single, clustered = wilson(3, 9), clustered_share([2, 1, 0], [2, 2, 3], unit="grafts").estimate
    assert (single.numerator, single.denominator, single.animals, single.notes) == (3, 9, 9, ())
    assert single.method == "Wilson"
    assert (clustered.numerator, clustered.denominator, clustered.animals, clustered.unit) == (3, 7, 3, "grafts")
    # By hand: residuals 8/7, 1/7 and -9/7, so 3/2 x 146/49 / 49 over (3/7)(4/7) / 7.
    effect = 1.5 * 146 / 49 / 49 / (12 / 49 / 7)
    assert clustered.notes == (f"design effect {effect:.2f}, effective number {7 / effect:.1f}",)
    assert clustered.method == "Wilson on effective numbers, clustered by animal"
    assert (clopper_pearson(3, 9).animals, clopper_pearson(3, 9, unit="grafts").animals) == (9, None)


def test_a_design_effect_is_never_under_one():
    # Each animal has one success and one failure, as alike as can be.
    even = clustered_share([1, 1, 1], [2, 2, 2])
    assert (even.design_effect, even.effective_n, even.intra_animal_correlation) == (1, 6, -1)


def test_a_difference_adds_up_animals_and_what_is_unknown():
    first, second = (replace(wilson(k, 10), unknown=k, notes=("of one practice",)) for k in (7, 4))
    found = newcombe_difference(first, second)
    assert (found.animals, found.unknown, found.notes) == (20, 11, ("of one practice",))
    assert found.method == "square-and-add of Wilson"
    other = newcombe_difference(first, replace(clopper_pearson(4, 10), animals=None))
    assert (other.animals, other.method) == (None, "square-and-add of Wilson and Clopper-Pearson")
    with pytest.raises(AuditError, match=r"animals at 0\.95, grafts at 0\.95"):
        newcombe_difference(first, replace(second, unit="grafts"))


def test_funnel_limits_of_few_cases_by_hand():
    # Five of five have a chance of 0.9^5 = 0.59049, of which 0.025 is cut off: 1 - 0.025 / 0.59049 / 5.
    assert funnel_limits(0.9, [5], level=0.95)[1] == pytest.approx([1 - 0.025 / 0.59049 / 5])
    # None of three have a chance of 0.999^3, over 0.975, so that the upper limit would lie under 0.
    assert funnel_limits(0.001, [3], level=0.95)[1].tolist() == [0]
    with pytest.raises(AuditError, match=r"total 0\.5 is not 1 or above"):
        binomial_limit(0.975, [0.5], 0.9)


def test_a_group_whose_grafts_are_all_unknown_counts_as_no_difference(rng):
    # Of four animals two have a known graft, and it took: each of the 6 ways differs as little as the observed one.
    p, _ = permutation_p(([1, 0], [1, 0]), ([1, 0], [1, 0]), rng=rng)
    assert p == pytest.approx(1)
    # Where one took and one did not, they are apart in 4 of the 6 ways, by 1; in the others a side has no known graft.
    p, _ = permutation_p(([1, 0], [1, 0]), ([0, 0], [1, 0]), rng=rng)
    assert p == pytest.approx(4 / 6)


@pytest.fixture
def rng():
    return np.random.default_rng(20)
