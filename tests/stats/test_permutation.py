from math import comb

import numpy as np
import pytest
from scipy.stats import hypergeom

from audit.errors import EmptyGroup
from audit.stats.permutation import Swaps, swaps


@pytest.fixture
def rng():
    return np.random.default_rng(21)


def test_chances_of_two_rows_are_hypergeometric(rng):
    ways = swaps([6, 9], 5, rng=rng)
    assert ways.exact
    assert ways.picks.sum(axis=1).tolist() == [5] * 6
    assert ways.chance == pytest.approx(hypergeom(15, 6, 5).pmf(ways.picks[:, 0]))


def test_every_way_is_listed_once_with_the_chance_of_its_animals(rng):
    row = [2, 1, 3]
    ways = swaps(row, 3, rng=rng)
    listed = {tuple(pick) for pick in ways.picks.tolist()}
    assert listed == {(a, b, 3 - a - b) for a in range(3) for b in range(2)}
    for pick, chance in zip(ways.picks, ways.chance, strict=True):
        assert chance == pytest.approx(np.prod([comb(n, k) for n, k in zip(row, pick, strict=True)]) / comb(6, 3))


# All ways are listed up to 200,000: of two rows, of single animals, or of few or all but few of many.
@pytest.mark.parametrize(
    ("row", "chosen", "listed"),
    [
        ([100_000, 100_000], 100_000, 100_001),
        ([1] * 20, 10, comb(20, 10)),
        ([446] * 3, 669, comb(671, 2) - 3 * comb(224, 2)),
        ([5000] * 4, 2, 10),
        ([5000] * 4, 19_998, 10),
        ([1] * 21, 10, None),
        ([60] * 5, 30, None),
    ],
)
def test_ways_are_listed_while_they_are_surely_few(rng, row, chosen, listed):
    ways = swaps(row, chosen, rng=rng, draws=50)
    assert ways.exact is (listed is not None)
    assert ways.picks.shape == (listed or 50, len(row))
    assert (ways.picks.sum(axis=1) == chosen).all()
    assert ways.chance.sum() == pytest.approx(1)
    assert ways.method == ("exact permutation of animals" if listed else "50 random permutations")


def test_a_way_as_far_as_the_observed_one_counts_and_so_does_rounding():
    statistics, chance = np.array([-0.3, -0.1, 0.1 + 0.2, 0.4]), np.array([0.4, 0.3, 0.2, 0.1])
    assert Swaps(np.zeros((4, 1), int), chance, exact=True).two_sided(statistics, 0.3) == pytest.approx(0.7)
    assert Swaps(np.zeros((4, 1), int), chance, exact=True).two_sided(statistics, -0.35) == pytest.approx(0.1)
    drawn = Swaps(np.zeros((4, 1), int), np.full(4, 0.25), exact=False)
    assert [drawn.two_sided(statistics, observed) for observed in (0.3, 9, 0)] == pytest.approx([4 / 5, 1 / 5, 1])


@pytest.mark.parametrize("chosen", [0, 4])
def test_an_empty_group_is_refused(rng, chosen):
    with pytest.raises(EmptyGroup, match="no animals"):
        swaps([1, 3], chosen, rng=rng)
    assert len(swaps([1, 3], 1, rng=rng).picks) == len(swaps([1, 3], 3, rng=rng).picks) == 2
