import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from scipy.stats import norm, t

from audit.errors import AuditError, TooFewData
from audit.stats.agreement import NO_VARIATION, gwet_ac2, krippendorff_alpha, rating_table, weighted_kappa

RATINGS = st.lists(st.tuples(*[st.integers(0, 3)] * 3), min_size=4, max_size=15)


def alpha(ratings, animal=None, fewest=2):
    rng = np.random.default_rng(3)
    return krippendorff_alpha(ratings, categories=5, animal=animal, rng=rng, draws=500, fewest=fewest)


def ac2(ratings, weights="ordinal", categories=5, animal=None):
    rng = np.random.default_rng(3)
    return gwet_ac2(ratings, categories=categories, weights=weights, animal=animal, rng=rng, draws=500, fewest=2)


# Agresti A. Categorical Data Analysis, 1990, p. 388; Landis JR, Koch GG. Biometrics 1977;33:363; errors from R's vcd.
@pytest.mark.parametrize("case_id", ["kappa-sexualfun", "kappa-pathologists"])
@pytest.mark.parametrize("weights", ["linear", "quadratic"])
def test_weighted_kappa_matches_published_tables(case_id, weights):
    case = published("agreement", case_id)
    found = weighted_kappa(case.data["table"], weights=weights)
    value, error = case.value(f"kappa_{weights}_se")
    assert found.value == pytest.approx(value, abs=1e-8)
    # The error, taken back from the limits on Fisher's scale: with about a hundred photographs as the large-sample one.
    reach = (np.arctanh(found.high) - np.arctanh(found.low)) / 2 / t.ppf(0.975, np.sum(case.data["table"]) - 1)
    assert reach * (1 - found.value**2) == pytest.approx(error, rel=0.03)


def test_kappa_of_one_grade_is_undefined_not_a_number():
    case = published("agreement", "kappa-degenerate")
    found = weighted_kappa(case.data["table"], weights="linear")
    assert (found.value, found.low, found.high) == (None, None, None)
    assert "undefined" in found.notes[0]


# Krippendorff K. Computing Krippendorff's alpha-reliability, 2011, example C; grades here count from 0.
def test_alpha_matches_krippendorff():
    case = published("agreement", "krippendorff-c")
    ratings = np.array(case.data["ratings_by_observer"], dtype=float).T - 1
    found = alpha(ratings)
    ordinal = case.value("alpha")[1]
    assert found.value == pytest.approx(ordinal, abs=1e-8)
    # The photograph that one observer rated drops out.
    assert found.denominator == 11
    assert found.low < found.value < found.high


# By hand: 118 and 2 agreed of 125 in one table, agreement 0.944, chance 2 x 0.972 x 0.028 (AC1 0.9408);
# the table is from Gwet KL. Br J Math Stat Psychol 2008;61:29-48 (from memory).
def test_ac1_by_hand_where_kappa_fails():
    first = np.repeat([0, 0, 1], [118, 5, 2])
    second = np.repeat([0, 1, 0], [118, 5, 2])
    found = ac2(np.column_stack([first, second]), "identity", 2)
    chance = 2 * (243 / 250) * (7 / 250)
    assert found.value == pytest.approx((118 / 125 - chance) / (1 - chance))
    assert weighted_kappa(rating_table(first, second, 2), weights="linear").value < 0


# By hand from Gwet's formula for two raters and three grades; ordinal weights are 1, 2/3 and 0 for 0, 1 and 2 steps.
def test_ac2_by_hand_with_ordinal_weights():
    table = np.array([[6, 2, 0], [1, 5, 1], [1, 0, 4]])
    pairs = [(i, j) for i in range(3) for j in range(3) for _ in range(table[i, j])]
    observed = (15 * 1 + 4 * 2 / 3 + 1 * 0) / 20
    use = np.array([8 + 8, 7 + 7, 5 + 5]) / 40
    chance = (3 + 4 * 2 / 3) / (3 * 2) * (use * (1 - use)).sum()
    assert ac2(pairs, categories=3).value == pytest.approx((observed - chance) / (1 - chance))


@given(RATINGS, st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=30)
def test_rater_and_photograph_order_change_nothing(ratings, random):
    shuffled = [random.sample(row, 3) for row in random.sample(ratings, len(ratings))]
    assert ac2(shuffled).value == pytest.approx(ac2(ratings).value)
    if len({grade for row in ratings for grade in row}) > 1:
        assert alpha(shuffled).value == pytest.approx(alpha(ratings).value)
        assert alpha(np.array(ratings) + 1).value == pytest.approx(alpha(ratings).value)
        # Turned upside down, an ordinal scale says the same.
        assert alpha(3 - np.array(ratings)).value == pytest.approx(alpha(ratings).value)


def test_photographs_of_one_animal_count_once():
    rng = np.random.default_rng(5)
    one = np.clip(np.rint(rng.uniform(0, 4, size=(20, 1)) + rng.normal(0, 0.6, size=(20, 2))), 0, 4)
    copies, owner = np.repeat(one, 4, axis=0), np.repeat(np.arange(20), 4)
    clustered, naive, single = alpha(copies, owner), alpha(copies), alpha(one)
    assert clustered.animals == 20
    assert clustered.high - clustered.low == pytest.approx(single.high - single.low, rel=0.1)
    assert naive.high - naive.low < 0.7 * (single.high - single.low)


def test_full_agreement_has_no_interval_and_one_grade_no_alpha():
    agreed = alpha([[0, 0], [1, 1], [2, 2], [3, 3]] * 5)
    assert (agreed.value, agreed.low, agreed.high) == (1.0, None, None)
    diagonal = weighted_kappa(np.diag([5, 5, 5]), weights="linear")
    assert (diagonal.value, diagonal.low) == (1.0, None)
    assert agreed.notes == diagonal.notes == (NO_VARIATION,)
    one_grade = alpha([[2, 2]] * 20)
    assert one_grade.value is None
    assert ac2([[2, 2]] * 20).value == 1.0


def test_few_photographs_and_wrong_grades_are_refused():
    with pytest.raises(TooFewData, match="14 photographs"):
        alpha([[0, 1]] * 14 + [[0, np.nan]], fewest=15)
    with pytest.raises(TooFewData, match="3 photographs"):
        weighted_kappa([[2, 0], [0, 1]], weights="linear")
    with pytest.raises(AuditError, match="photograph 1, rater 0: 7"):
        alpha([[0, 1], [7, 1]])
    with pytest.raises(AuditError, match="no agreement weights"):
        ac2([[0, 1]] * 3, "cubic")


def test_ac2_limits_lie_evenly_around_it_on_fishers_scale_and_widen_with_animals_that_are_alike():
    rng = np.random.default_rng(8)
    ratings = np.clip(rng.integers(0, 5, (30, 1)) + rng.integers(-1, 2, (30, 3)), 0, 4)
    found = ac2(ratings)
    low, middle, high = np.arctanh([found.low, found.value, found.high])
    assert middle - low == pytest.approx(high - middle)
    together = ac2(np.repeat(ratings[:10], 3, axis=0), animal=np.repeat(range(10), 3))
    apart = ac2(np.repeat(ratings[:10], 3, axis=0))
    assert together.high - together.low > 1.5 * (apart.high - apart.low)


def test_alpha_limits_are_those_of_animals_drawn_one_by_one():
    """BCa written out anew: draws of whole animals, the share under the estimate, and leaving each animal out."""
    rng, level = np.random.default_rng(9), 0.9
    ratings = np.clip(rng.integers(0, 5, (24, 1)) + rng.integers(-1, 2, (24, 3)), 0, 4).astype(float)
    ratings[::5, 0], owner = np.nan, np.repeat(range(12), 2)

    def value(animals):
        rows = np.concatenate([np.flatnonzero(owner == animal) for animal in animals])
        return krippendorff_alpha(ratings[rows], categories=5, rng=rng, draws=1).value

    drawn = np.array([value(rng.integers(0, 12, 12)) for _ in range(1_500)])
    middle, without = value(range(12)), np.array([value(np.delete(np.arange(12), i)) for i in range(12)])
    away = without.mean() - without
    skew, bias = (away**3).sum() / (6 * (away**2).sum() ** 1.5), norm.ppf((drawn < middle).mean())
    sides = bias + np.array([-1, 1]) * np.sqrt(12 / 11) * t.ppf((1 + level) / 2, 11)
    expected = np.quantile(drawn, norm.cdf(bias + sides / (1 - skew * sides)))
    found = krippendorff_alpha(
        ratings, categories=5, animal=owner, rng=np.random.default_rng(4), level=level, draws=4_000, fewest=2
    )
    assert (found.value, found.animals, found.level) == (middle, 12, level)
    assert (found.low, found.high) == pytest.approx(tuple(expected), abs=0.04)


def test_ac2_limits_are_students_around_the_error_of_animals_drawn_one_by_one():
    rng = np.random.default_rng(10)
    ratings, owner = np.clip(rng.integers(0, 5, (24, 1)) + rng.integers(-1, 2, (24, 2)), 0, 4), np.arange(24) // 2
    drawn = [
        ac2(np.concatenate([ratings[owner == animal] for animal in rng.integers(0, 12, 12)])).value for _ in range(800)
    ]
    found = ac2(ratings, animal=owner)
    half = 2.200985 * np.std(drawn) * np.sqrt(12 / 11) / (1 - found.value**2)  # t with 11 degrees, any table
    assert np.arctanh(found.high) - np.arctanh(found.value) == pytest.approx(half, rel=0.1)


def test_kappa_limits_are_those_of_leaving_each_photograph_out():
    first, second = np.repeat([0, 0, 1, 1, 2, 2], [6, 2, 5, 1, 3, 1]), np.repeat([0, 1, 1, 2, 2, 0], [6, 2, 5, 1, 3, 1])

    def kappa(kept):
        return weighted_kappa(rating_table(first[kept], second[kept], 3), weights="linear", level=0.9, fewest=2)

    without = np.arctanh([kappa(np.arange(18) != i).value for i in range(18)])
    half = 1.739607 * np.sqrt(17 / 18 * ((without - without.mean()) ** 2).sum())  # t with 17 degrees, 90 %, any table
    found = kappa(np.arange(18))
    assert np.arctanh([found.low, found.high]) == pytest.approx(
        np.arctanh(found.value) + np.array([-half, half]), abs=1e-5
    )
    assert (found.denominator, found.level, found.notes) == (18, 0.9, ("photographs are taken as independent",))


# By hand: weights 1, 3/4 and 0 for 0, 1 and 2 steps; the same table as for the ordinal weights.
def test_ac2_by_hand_with_quadratic_weights():
    table = np.array([[6, 2, 0], [1, 5, 1], [1, 0, 4]])
    pairs = [(i, j) for i in range(3) for j in range(3) for _ in range(table[i, j])]
    observed, use = (15 + 4 * 3 / 4) / 20, np.array([16, 14, 10]) / 40
    chance = (3 + 4 * 3 / 4) / (3 * 2) * (use * (1 - use)).sum()
    assert ac2(pairs, "quadratic", 3).value == pytest.approx((observed - chance) / (1 - chance))


def test_photographs_that_one_rater_graded_drop_out_with_their_animals():
    ratings = np.array([[0, 1, np.nan], [2, np.nan, np.nan], [3, 3, 2], [1, 1, 1], [4, np.nan, 3]] * 3)
    owner, rated = np.arange(15), (~np.isnan(ratings)).sum(axis=1) > 1
    for coefficient in (ac2, alpha):
        whole, fewer = coefficient(ratings, animal=owner), coefficient(ratings[rated], animal=owner[rated])
        assert (whole.value, whole.denominator) == pytest.approx((fewer.value, 12))
        assert (whole.low, whole.high, whole.animals) == pytest.approx((fewer.low, fewer.high, 12))


def test_fifteen_photographs_are_enough():
    assert weighted_kappa([[8, 1], [1, 5]], weights="linear").denominator == 15
    assert alpha([[0, 1], [1, 1], [2, 1]] * 5, fewest=15).denominator == 15


@pytest.mark.parametrize(
    ("table", "fault"),
    [
        ([[5, 5, 5], [5, 5, 5]], r"shape \(2, 3\)"),
        ([10, 10], r"shape \(2,\)"),
        ([[9, -1], [1, 9]], "not of two raters"),
        ([[9, 0.5], [1, 9]], "not of two raters"),
    ],
)
def test_what_is_no_table_of_two_raters_is_refused(table, fault):
    with pytest.raises(AuditError, match=fault):
        weighted_kappa(table, weights="linear")
    with pytest.raises(AuditError, match='"cubic" are no weights of kappa'):
        weighted_kappa([[9, 1], [1, 9]], weights="cubic")


@pytest.mark.parametrize(
    ("grades", "fault"), [([0, 3], "row 1: grade 3"), ([-1, 0], "row 0: grade -1"), ([0, 0.5], "row 1: the")]
)
def test_a_grade_beside_the_scale_is_refused(grades, fault):
    with pytest.raises(AuditError, match=fault):
        rating_table(grades, [0, 2], 3)
    with pytest.raises(AuditError, match="are no table"):
        ac2([0, 1, 2])
