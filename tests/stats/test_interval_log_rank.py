import numpy as np
import pytest
from published import published
from visits import INF, days

from audit.errors import AuditError, TooFewData
from audit.stats.interval_log_rank import interval_log_rank, sun_scores

# Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945; score, |Z| and p as printed with R package interval.
COSMESIS = published("survival", "ic-cosmesis-test-sun")


def test_cosmesis_scores_match_the_published_test():
    left, right, _ = days(COSMESIS)
    found = interval_log_rank(left, right, COSMESIS.data["group"], np.random.default_rng(1), draws=4999)
    assert found.groups == ("RCT", "RT")
    assert found.scores[0] == COSMESIS["U_rct"]
    assert np.sqrt(found.chi_square) == COSMESIS["abs_Z"]
    assert found.p_normal == COSMESIS["p"]
    assert found.p == pytest.approx(COSMESIS.value("p"), abs=0.004)  # 3 Monte Carlo errors of 4,999 draws


def test_right_censored_days_give_the_log_rank_sum():
    case = published("survival", "km-freireich-rmst")
    day, status = np.array(case.data["time"], dtype=float), np.array(case.data["status"])
    arm = np.array(case.data["arm"])
    expected = sum(
        (status * (day == t))[arm == "placebo"].sum()
        - (status * (day == t)).sum() * ((day >= t) & (arm == "placebo")).sum() / (day >= t).sum()
        for t in np.unique(day[status == 1])
    )
    # Printed as 10.25 (O - E of the placebo arm), e.g. Kleinbaum DG, Klein M. Survival Analysis; from memory.
    assert expected == pytest.approx(10.25, abs=0.005)
    found = interval_log_rank(day, np.where(status == 1, day, INF), arm, np.random.default_rng(1), draws=0)
    assert found.scores[1] == pytest.approx(expected, abs=1e-5)


def test_scores_add_up_to_nothing_and_follow_their_rows():
    left, right, _ = days(COSMESIS)
    score, order = sun_scores(left, right), np.random.default_rng(2).permutation(len(left))
    assert score.sum() == pytest.approx(0, abs=1e-9)
    assert sun_scores(np.array(left)[order], np.array(right)[order]) == pytest.approx(score[order], abs=1e-6)


def test_names_and_order_of_groups_change_nothing():
    left, right, _ = days(COSMESIS)
    group = np.array(COSMESIS.data["group"])
    one = interval_log_rank(left, right, group, np.random.default_rng(3), draws=200)
    other = interval_log_rank(left, right, np.where(group == "RT", "a", "b"), np.random.default_rng(3), draws=200)
    assert other.chi_square == pytest.approx(one.chi_square)
    assert other.scores[::-1] == pytest.approx(one.scores)


def test_copies_within_an_animal_do_not_count_as_evidence():
    rng = np.random.default_rng(4)
    left = rng.integers(7, 30, 24).astype(float)
    right, group = left + 7, np.repeat(["pinch", "sheet"], 12)
    single = interval_log_rank(left, right, group, rng, draws=1999)
    tripled = [np.repeat(column, 3) for column in (left, right, group)]
    animal = np.repeat(np.arange(24), 3)
    clustered = interval_log_rank(*tripled, rng, animal=animal, draws=1999)
    assert clustered.animals == 24
    assert clustered.p_normal < single.p_normal  # taking copies for animals makes up evidence
    assert clustered.p == pytest.approx(single.p, abs=0.06)


def test_groups_within_an_animal_are_permuted_within_it():
    # Eleven animals with one graft of each group, the second always a day later: 2 of 2^11 permutations are as extreme.
    first = np.arange(10, 120, 10).astype(float)
    left, group = np.concatenate((first, first + 1)), ["a"] * 11 + ["b"] * 11
    animal = np.tile(np.arange(11), 2)
    within = interval_log_rank(left, left, group, np.random.default_rng(5), animal=animal, draws=4000)
    between = interval_log_rank(left, left, group, np.random.default_rng(5), draws=400)
    assert within.p < 0.005
    assert between.p > 0.5


def test_level_is_kept_when_groups_do_not_differ():
    rng, rejected = np.random.default_rng(6), 0
    for _ in range(200):
        day = np.repeat(rng.lognormal(3.2, 0.4, 12), 2) * rng.lognormal(0, 0.1, 24)
        left = np.floor(day / 7) * 7
        found = interval_log_rank(
            left,
            left + 7,
            np.repeat(rng.permutation(["a", "b"] * 6), 2),
            rng,
            animal=np.repeat(np.arange(12), 2),
            draws=99,
        )
        rejected += found.p <= 0.05
    assert rejected <= 18  # 10 expected; above 18 has a chance under 1 %


def test_too_few_and_senseless_comparisons_are_refused():
    rng = np.random.default_rng(7)
    with pytest.raises(TooFewData, match="9 animals are too few"):
        interval_log_rank([0] * 9, [7] * 9, ["a", "b", "b"] * 3, rng)
    with pytest.raises(AuditError, match="all cases are in group 'a'"):
        interval_log_rank([0] * 12, [7] * 12, ["a"] * 12, rng)
    with pytest.raises(AuditError, match="differ in length"):
        interval_log_rank([0] * 12, [7] * 12, ["a", "b"], rng)


def test_ten_animals_are_enough_and_equal_splits_count_in_spite_of_rounding():
    # Healed on days 1 to 10, the first five in one group: of 252 ways to split them this one and its mirror are as far.
    day, group = np.arange(1.0, 11), ["a"] * 5 + ["b"] * 5
    found = interval_log_rank(day, day, group, np.random.default_rng(8), draws=4999)
    assert found.p == pytest.approx(2 / 252, abs=0.004)
    assert (found.animals, found.cases, found.df) == (10, (5, 5), 1)


def test_chi_square_of_three_groups_by_hand():
    # Scores are 1 less the hazard of Nelson and Aalen: sums by group, squared, over cases and over their variance.
    day, group = np.arange(1.0, 13), np.repeat(["a", "b", "c"], [5, 4, 3])
    score = 1 - np.cumsum(1 / np.arange(12, 0, -1))
    found = interval_log_rank(day, day, group, np.random.default_rng(8), draws=0)
    sums = [score[group == name].sum() for name in "abc"]
    assert found.scores == pytest.approx(sums)
    assert found.chi_square == pytest.approx((np.square(sums) / [5, 4, 3]).sum() / score.var(ddof=1))
    assert (found.df, found.p, found.draws) == (2, None, 0)
    assert found.p_normal == pytest.approx(np.exp(-found.chi_square / 2))


def test_cases_all_alike_tell_no_group_from_another():
    found = interval_log_rank([7] * 12, [14] * 12, ["a", "b"] * 6, np.random.default_rng(8), draws=99)
    assert (found.chi_square, found.p, found.p_normal) == (0, 1, 1)
