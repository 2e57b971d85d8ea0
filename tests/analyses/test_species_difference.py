"""Dogs and cats on one question: the difference, Fisher's test where all animals have one case, and what is refused."""

import numpy as np
import pytest
from scipy.stats import fisher_exact

from audit.analyses.groups import by_group
from audit.analyses.species_difference import species_difference
from audit.protocol import read_protocol
from tests.planted import tallied

PROTOCOL = read_protocol()


def difference(**counts):
    rows = [
        {"species": species, "status": status, "status_each": status, "weight": n, "is_primary": True}
        for species, numbers in counts.items()
        for status, n in zip(("sure_yes", "sure_no", "cannot_tell", "excluded"), numbers, strict=False)
        if n
    ]
    with tallied(take_tally=rows) as cases:
        rows = cases.rows("take_tally")
    return species_difference(rows, by_group(rows, "take", None, level=0.95), PROTOCOL)


def test_cats_less_dogs_with_the_test_of_their_counts():
    found = difference(dog=(18, 6, 4, 2), cat=(5, 9))
    assert found.difference.value == pytest.approx(5 / 14 - 18 / 24)
    assert found.difference.low < found.difference.value < found.difference.high
    assert found.p == pytest.approx(fisher_exact(np.array([[18, 6], [5, 9]])).pvalue, rel=0.02)
    assert (found.dogs.species, found.cats.species, found.refused) == ("dog", "cat", "")


@pytest.mark.parametrize(("dogs", "cats"), [((9, 0), (6, 6)), ((6, 6), (5, 4, 9)), ((20, 5), (0, 0, 5))])
def test_under_ten_known_cases_there_is_no_difference(dogs, cats):
    found = difference(dog=dogs, cat=cats)
    assert (found.difference, found.p, found.refused) == (None, None, "both need 10 known cases")


@pytest.mark.parametrize(("dogs", "has_p"), [((8, 2), False), ((7, 3), True), ((1, 9), True), ((0, 10), False)])
def test_under_five_cases_with_or_without_there_is_no_test(dogs, has_p):
    found = difference(dog=dogs, cat=(4, 6) if dogs[0] < 5 else (8, 2))
    assert found.difference is not None
    assert (found.p is not None) == has_p


def test_one_species_has_no_difference():
    assert difference(dog=(8, 8)) is None
