import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from scipy.stats import t

from audit.errors import EmptyGroup, TooFewData
from audit.stats.ordinal import placements, superiority

GRADES = st.lists(st.integers(0, 4), min_size=2, max_size=12)


# Brunner E, Munzel U. Biom J 2000;42:17-25: shoulder-tip pain scores.
def test_placements_match_brunner_and_munzel():
    case = published("ordinal", "ordinal-brunner-munzel")
    share, variance, freedom, _ = placements(case.data["control"], case.data["active"])
    assert share == case["estimate"]
    assert (share - 0.5) / np.sqrt(variance) == case["statistic"]
    assert freedom == case["df"]
    half = t.ppf(0.975, freedom) * np.sqrt(variance)
    assert [share - half, share + half] == case["ci"]


# All grades tied: one half, by hand.
def test_ties_count_half():
    tied = published("ordinal", "ordinal-wmw-all-tied")
    assert superiority(tied.data["x"], tied.data["y"]).value == tied["prob_superiority"]


# Cliff N. Ordinal Methods for Behavioral Data Analysis, 1996: delta = 2 x probability of superiority - 1.
def test_superiority_matches_cliffs_delta():
    case = published("ordinal", "ordinal-cliff-delta")
    found = superiority(case.data["treatment"], case.data["control"])
    assert 2 * found.value - 1 == case["delta"]


def test_variance_by_animal_is_between_no_and_full_correlation():
    """Each graft four times in its animal: the variance of single grafts, not a quarter of it."""
    a, b = [3, 2, 4, 1, 2], [1, 0, 2, 2, 1, 3]
    single = superiority(a, b)
    copied = superiority(
        np.repeat(a, 4),
        np.repeat(b, 4),
        first_animal=np.repeat(range(5), 4),
        second_animal=np.repeat(range(5, 11), 4),
    )
    assert (copied.value, copied.low, copied.high) == pytest.approx((single.value, single.low, single.high))
    assert copied.animals == 11


def test_animals_in_both_groups_share_their_level():
    """Each animal lifts both its grafts, so that the shared term must take variance away."""
    level = np.array([0, 1, 2, 3, 4, 5])
    paired = placements(level + 1, level, level, level)
    assert paired[1] < placements(level + 1, level)[1]


@pytest.mark.parametrize(("a", "b", "value"), [([3, 3, 4, 4], [0, 1, 1, 2, 0], 1.0), ([1, 1, 1], [1, 1, 1], 0.5)])
def test_interval_informs_where_the_variance_is_nil(a, b, value):
    up, down = superiority(a, b), superiority(b, a)
    assert up.value == value
    assert 0 < up.low < up.value
    assert (down.low, down.high) == pytest.approx((1 - up.high, 1 - up.low))


# Newcombe RG. Stat Med 2006;25:559-573, method 5: the limit solves (1 - p)^2 = z^2 V(p) with the exponential model's V.
def test_limit_of_separated_groups_solves_newcombes_equation():
    p = superiority([3, 3, 4, 4], [0, 1, 1, 2, 0, 2, 1]).low
    second_moments = (5.5 - 1) * ((1 - p) / (2 - p) + p / (1 + p))
    assert (1 - p) ** 2 == pytest.approx(1.959964**2 * p * (1 - p) * (1 + second_moments) / (4 * 7), rel=1e-5)


# Wilson's limits solve |p - share| = t sqrt(p (1 - p) / n), whatever the quantile and the effective number.
def test_interval_is_wilsons_on_the_effective_number():
    a, b = [3, 1, 4, 2, 2, 3], [1, 2, 0, 2, 1]
    share, variance, freedom, _ = placements(a, b)
    found = superiority(a, b)
    limits = np.array([found.low, found.high])
    spread = t.ppf(0.975, freedom) * np.sqrt(limits * (1 - limits) * variance / (share * (1 - share)))
    assert np.abs(limits - share) == pytest.approx(spread)


@given(GRADES, GRADES, st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=50)
def test_mirror_order_and_any_rising_scale(a, b, random):
    found = superiority(a, b)
    assert 0 <= found.low <= found.value <= found.high <= 1
    mirrored = superiority(b, a)
    assert (1 - mirrored.high, 1 - mirrored.value) == pytest.approx((found.low, found.value))
    shuffled = superiority(np.exp(random.sample(a, len(a))), np.exp(random.sample(b, len(b))))
    assert (shuffled.value, shuffled.low, shuffled.high) == pytest.approx((found.value, found.low, found.high))


def test_too_little_is_refused():
    with pytest.raises(EmptyGroup):
        superiority([], [1, 2])
    with pytest.raises(TooFewData, match="1 and 3 animals"):
        superiority([2], [1, 2, 3])


def test_variance_of_grafts_by_animal_by_hand():
    """Placements of 1, 2 | 2 in 0, 2: 1/2, 3/4 and 3/4; of 0, 2 in 1, 2, 2: 1 and 1/3, so a share of 2/3."""
    share, variance, freedom, animals = placements([1, 2, 2], [0, 2], ["rex", "rex", "luna"], ["momo", "luna"])
    # Sums by animal over the grafts: rex -1/12 / 3, luna 1/12 / 3 and -1/3 / 2, momo 1/3 / 2; three animals in all.
    first, second = 2 / 1 * 2 * (1 / 36) ** 2, 2 / 1 * 2 * (1 / 6) ** 2
    assert (share, animals) == (pytest.approx(2 / 3), (2, 2))
    assert variance == pytest.approx(first + second + 2 * (1 / 36) * (-1 / 6) * 3 / 2)
    assert freedom == pytest.approx((first + second) ** 2 / (first**2 + second**2))


def test_counts_and_another_level():
    a, b = [3, 1, 4, 2, 2, 3], [1, 2, 0, 2, 1]
    found, wide = superiority(a, b, level=0.8), superiority(a, b)
    assert (found.denominator, found.animals, found.level) == (11, 11, 0.8)
    assert wide.low < found.low < found.value == wide.value < found.high < wide.high
    apart = superiority([3, 4], [1, 2], level=0.8)
    p = apart.low  # Newcombe's equation of the separated groups again, with the normal quantile 1.281552
    assert (1 - p) ** 2 == pytest.approx(
        1.281552**2 * p * (1 - p) * (1 + (1 - p) / (2 - p) + p / (1 + p)) / 4, rel=1e-5
    )
    assert (apart.high, apart.method) == (1, "Newcombe method 5 on animals")


def test_groups_apart_have_the_degrees_of_the_smaller_one():
    assert placements([3, 3, 4], [1, 1]) == (1, 0, 1, (3, 2))
