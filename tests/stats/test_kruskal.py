import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from scipy.stats import chi2, kruskal

from audit.errors import AuditError, EmptyGroup
from audit.stats.kruskal import dunn_pairs, kruskal_wallis

GROUPS = st.lists(st.lists(st.integers(0, 4), min_size=1, max_size=8), min_size=2, max_size=4)


def wallis(groups, animal=None, draws=200):
    return kruskal_wallis(groups, animal=animal, rng=np.random.default_rng(2), draws=draws)


# Hollander M, Wolfe DA. Nonparametric Statistical Methods, 1973: mucociliary efficiency.
def test_statistic_matches_hollander_and_wolfe():
    case = published("ordinal", "ordinal-kruskal-mucociliary")
    found = wallis(case.data["groups"])
    assert found.statistic == case["H"]
    assert chi2.sf(found.statistic, found.degrees_of_freedom) == case["p"]


# Dunn OJ. Technometrics 1964;6:241-252; New York air quality by month, R package dunn.test.
def test_pairs_match_dunn_with_holm():
    case = published("ordinal", "ordinal-dunn-airquality")
    value, month = np.array(case.data["value"]), np.array(case.data["group"])
    found = dunn_pairs([value[month == number] for number in range(5, 10)])
    assert [pair.z for pair in found] == case["z"]
    assert [pair.p for pair in found] == case["p"]
    assert [pair.p_holm for pair in found] == case["p_holm"]


@given(GROUPS.filter(lambda groups: len({grade for group in groups for grade in group}) > 1))
@settings(deadline=None, max_examples=40)
def test_statistic_agrees_with_scipy_and_ignores_group_order(groups):
    assert wallis(groups, draws=1).statistic == pytest.approx(kruskal(*groups).statistic)
    assert wallis(groups[::-1], draws=1).statistic == pytest.approx(wallis(groups, draws=1).statistic)


def test_many_animals_use_chi_square_and_agree_with_permutation():
    rng = np.random.default_rng(6)
    groups = [rng.integers(0, 5, size=700) for _ in range(3)]
    large = wallis(groups)
    assert large.method == "chi-square"
    permuted = wallis([group[:60] for group in groups], draws=4_000)
    asymptotic = chi2.sf(permuted.statistic, 2)
    assert permuted.p == pytest.approx(asymptotic, abs=0.03)


def test_grafts_of_an_animal_move_together():
    """Two animals a group, ten like grafts each: six ways to split four animals, so p cannot fall under a third."""
    groups = [[1] * 10 + [2] * 10, [3] * 10 + [4] * 10]
    animals = [np.repeat([1, 2], 10), np.repeat([3, 4], 10)]
    assert wallis(groups, animals, draws=2_000).p == pytest.approx(1 / 3, abs=0.04)
    assert wallis(groups, draws=2_000).p < 0.001
    with pytest.raises(AuditError, match="two groups"):
        wallis([[1], [2]], [[7], [7]])


def test_all_alike_and_empty():
    assert (wallis([[2, 2], [2, 2, 2]]).statistic, wallis([[2, 2], [2, 2, 2]]).p) == (0.0, 1.0)
    assert [(pair.z, pair.p_holm) for pair in dunn_pairs([[2, 2], [2]])] == [(0.0, 1.0)]
    with pytest.raises(EmptyGroup):
        wallis([[1, 2], []])


def test_drawn_p_counts_the_observed_way_and_follows_the_listed_ones():
    # Three grades a group, apart: 2 of the 20 ways to split six animals are as far.
    groups = [[1, 2, 3], [4, 5, 6]]
    assert wallis(groups, draws=9_999).p == pytest.approx(0.1, abs=0.012)
    assert wallis([list(range(30)), list(range(30, 60))], draws=700).p == 1 / 701
    assert wallis(groups, draws=700).method == "700 random permutations of animals"


def test_animals_of_unlike_numbers_of_grafts_are_weighed_by_them():
    """All six ways to choose two of four animals, by hand: the observed one and its mirror are the farthest."""
    groups, animal = [[1, 1, 1, 2], [5, 4, 5]], [["a", "a", "a", "b"], ["c", "c", "d"]]
    assert wallis(groups, animal, draws=3_000).p == pytest.approx(1 / 3, abs=0.04)
    assert wallis(groups, animal, draws=10).degrees_of_freedom == 1


def test_chi_square_is_kept_to_one_graft_an_animal():
    rng = np.random.default_rng(8)
    groups = [rng.integers(0, 5, 1_000), rng.integers(0, 5, 1_001)]
    large = wallis(groups, draws=3)
    assert (large.method, large.p) == ("chi-square", pytest.approx(chi2.sf(large.statistic, 1)))
    assert wallis([groups[0], groups[1][:-1]], draws=3).method.startswith("3 random")
    paired = [rng.integers(0, 5, 2_002), rng.integers(0, 5, 2_002)]
    assert wallis(paired, [np.arange(2_002) // 2, 5_000 + np.arange(2_002) // 2], draws=3).method.startswith("3 random")


def test_pairs_by_hand():
    # Ranks 1.5, 1.5 | 3.5, 3.5 | 5: means 1.5, 3.5, 5; variance 5 x 6 / 12 x (1 - 12 / 120) = 2.25.
    pairs = dunn_pairs([[1, 1], [2, 2], [3]])
    assert [(pair.first, pair.second) for pair in pairs] == [(0, 1), (0, 2), (1, 2)]
    assert [pair.z for pair in pairs] == pytest.approx([-2 / 1.5, -3.5 / np.sqrt(3.375), -1.5 / np.sqrt(3.375)])


def test_a_single_group_is_refused():
    with pytest.raises(EmptyGroup, match="fewer than two groups"):
        wallis([[1, 2, 3]])
