import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint
from visits import wilson

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.results import TIDY_COLUMNS
from audit.stats.standardise import NOT_A_COMPARISON, standardised_shares

# Successes and cases by treatment and stone size: Charig CR, Webb DR, Payne SR, Wickham JE. BMJ 1986;292:879-882, as
# retold by Julious SA, Mullee MA. BMJ 1994;309:1480-1481 (from memory). Open surgery is better for small stones
# and for large ones, and worse over all, as it got most of the large ones.
STONES = {
    ("open", "small"): (81, 87),
    ("open", "large"): (192, 263),
    ("closed", "small"): (234, 270),
    ("closed", "large"): (55, 80),
}


def cases(table):
    """Outcome, group and cell of single cases from (group, cell): (successes, cases)."""
    rows = [(float(i < took), group, cell) for (group, cell), (took, total) in table.items() for i in range(total)]
    outcome, group, cell = zip(*rows, strict=True)
    return np.array(outcome), np.array(group), np.array(cell)


def test_a_reversal_is_undone():
    outcome, group, size = cases(STONES)
    found = standardised_shares(outcome, group, [size])
    closed, open_ = found.shares
    assert found.groups == ("closed", "open")
    assert [share.value for share in found.crude] == pytest.approx([289 / 350, 273 / 350])
    # By hand: 357 small and 343 large stones in all.
    assert open_.value == pytest.approx((357 * 81 / 87 + 343 * 192 / 263) / 700)
    assert closed.value == pytest.approx((357 * 234 / 270 + 343 * 55 / 80) / 700)
    assert found.crude[0].value > found.crude[1].value
    assert closed.value < open_.value
    (difference,) = found.differences
    assert difference.value == pytest.approx(closed.value - open_.value)
    assert difference.low < difference.value < difference.high
    assert dict(found.mix) == pytest.approx({("small",): 357 / 700, ("large",): 343 / 700})


def test_variance_is_that_of_a_stratified_sample():
    # Independent cases: sum of weight^2 p (1 - p) / n, here with a degree of freedom less for each cell.
    outcome, group, size = cases(STONES)
    share = standardised_shares(outcome, group, [size]).shares[1]
    weights, p, n = np.array([357, 343]) / 700, np.array([81 / 87, 192 / 263]), np.array([87, 263])
    variance = float((weights**2 * p * (1 - p) / n).sum()) * 350 / 348
    half = (share.high - share.low) / 2
    assert half == pytest.approx(1.967 * np.sqrt(variance), rel=0.02)


def test_a_fixed_mix_is_kept_and_an_unused_cell_may_be_empty():
    table = {
        ("a", "dog"): (8, 10),
        ("b", "dog"): (6, 10),
        ("a", "cat"): (5, 10),
        ("b", "cat"): (9, 10),
        ("a", "fox"): (1, 9),
    }
    outcome, group, species = cases(table)
    found = standardised_shares(outcome, group, [species], mix={("dog",): 3, ("cat",): 1})
    assert [share.value for share in found.shares] == pytest.approx([0.75 * 0.8 + 0.25 * 0.5, 0.75 * 0.6 + 0.25 * 0.9])
    assert found.shares[0].denominator == 20
    with pytest.raises(TooFewData, match="there is no case of b in fox"):
        standardised_shares(outcome, group, [species])
    with pytest.raises(AuditError, match="no case is in bird"):
        standardised_shares(outcome, group, [species], mix={("bird",): 1})


def test_empty_cells_are_all_named_before_thin_ones():
    outcome, group, species, site = [1, 0] * 6, ["a"] * 6 + ["b"] * 6, ["dog"] * 9 + ["cat"] * 3, ["limb", "trunk"] * 6
    with pytest.raises(TooFewData) as refusal:
        standardised_shares(outcome, group, [species, site])
    assert refusal.value.reason == "there is no case of a in cat / limb; a in cat / trunk"
    with pytest.raises(TooFewData, match="fewer than 5 animals: a in limb; a in trunk; b in limb; b in trunk"):
        standardised_shares(outcome, group, [site])


def test_one_cell_is_the_wilson_interval_of_fewer_animals():
    outcome = np.array([1] * 15 + [0] * 5 + [1] * 9 + [0] * 11)
    found = standardised_shares(outcome, ["a"] * 20 + ["b"] * 20, [["all"] * 40])
    for share, crude in zip(found.shares, found.crude, strict=True):
        assert share.value == crude.value
        assert share.low < crude.low
        assert crude.high < share.high
        assert (share.low, share.high) == pytest.approx((crude.low, crude.high), abs=0.03)


def test_all_took_has_an_informative_limit():
    found = standardised_shares([1] * 20, ["a"] * 10 + ["b"] * 10, [["dog", "cat"] * 10])
    assert (found.shares[0].value, found.shares[0].high) == (1, 1)
    assert found.shares[0].low == pytest.approx(wilson(10, 10).low, abs=1e-9)


def test_every_case_twice_tells_no_more_than_once():
    random = np.random.default_rng(1)
    outcome, group, cell = random.integers(0, 2, 60), np.arange(60) % 2, np.arange(60) // 2 % 3
    once = standardised_shares(outcome, group, [cell], animal=np.arange(60))
    again = np.tile(np.arange(60), 2)
    twice = standardised_shares(outcome[again], group[again], [cell[again]], animal=again)
    for one, two in zip(once.shares, twice.shares, strict=True):
        assert (two.low, two.high, two.animals) == pytest.approx((one.low, one.high, one.animals))


@given(st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_the_mix_of_a_group_gives_back_its_crude_share(seed):
    random = np.random.default_rng(seed)
    group, cell = random.integers(0, 2, 120), random.integers(0, 3, 120)
    outcome = (random.uniform(size=120) < 0.5 + 0.1 * cell).astype(float)
    mix = {(str(name),): float((cell[group == 1] == name).sum()) for name in range(3)}
    found = standardised_shares(outcome, group, [cell], mix=mix)
    order = random.permutation(120)
    again = standardised_shares(outcome[order], group[order], [cell[order]], mix=mix)
    assert found.shares[1].value == pytest.approx(found.crude[1].value)
    assert again.shares[0].low == pytest.approx(found.shares[0].low)
    assert all(0 <= share.low <= share.value <= share.high <= 1 for share in found.shares)


@pytest.mark.parametrize(("cell_effect", "grafts"), [(0.3, 1), (0.3, 2)])
def test_intervals_cover_the_truth(cell_effect, grafts):
    # 15 animals a group and cell; shares 0.5 and 0.5 + effect, half of each in the mix; grafts of an animal alike.
    random, covered = np.random.default_rng(2), 0
    cell = np.tile(np.repeat([0, 1], 15), 2)
    group, animal = np.repeat([0, 1], 30), np.arange(60)
    rows = np.repeat(animal, grafts)
    mix = {("0",): 1, ("1",): 1}
    for _ in range(150):
        took = (random.uniform(size=60) < 0.5 + cell_effect * cell)[rows]
        found = standardised_shares(took, group[rows], [cell[rows]], mix=mix, animal=rows)
        covered += sum(share.low <= 0.5 + cell_effect / 2 <= share.high for share in found.shares)
    assert 0.92 <= covered / 300 <= 0.99


def test_the_note_goes_wherever_the_result_goes():
    found = standardised_shares([1, 0] * 20, ["a"] * 20 + ["b"] * 20, [["dog", "dog", "cat", "cat"] * 10])
    assert found.note == NOT_A_COMPARISON
    assert found.note.startswith("not a comparison of methods")
    assert all(NOT_A_COMPARISON in estimate.notes for estimate in found.shares + found.differences)
    assert NOT_A_COMPARISON in found._repr_html_()
    assert found.frame.columns.tolist() == list(TIDY_COLUMNS)
    assert found.frame.term.tolist() == ["standardised share"] * 2 + ["difference of standardised shares"]
    assert found.frame.group.tolist() == ["a", "b", "a minus b"]


@pytest.mark.parametrize(
    ("outcome", "group", "cells", "error", "fault"),
    [
        ([], [], [[]], EmptyGroup, "no cases"),
        ([2], ["a"], [["dog"]], AuditError, "not 0 or 1"),
        ([1], ["a"], [["dog", "cat"]], AuditError, "differ in length"),
        ([1], ["a"], [], AuditError, "there is no column"),
    ],
)
def test_faulty_cases_are_named(outcome, group, cells, error, fault):
    with pytest.raises(error, match=fault):
        standardised_shares(outcome, group, cells)


def test_a_mix_with_weights_below_nothing_is_refused():
    with pytest.raises(AuditError, match="weights of a mix"):
        standardised_shares([1, 0], ["a", "b"], [["dog", "dog"]], mix={("dog",): -1})


def test_cells_that_share_their_few_animals_are_refused():
    animals = np.tile(np.arange(5), 12)
    cell, group = np.tile(np.repeat(np.arange(6), 5), 2), np.repeat(["a", "b"], 30)
    with pytest.raises(TooFewData, match="5 animals cannot bear a share in each of 6 cells"):
        standardised_shares(np.arange(60) % 2, group, [cell], animal=animals)


@pytest.mark.parametrize("weights", [(-1, 2), (0, 0), (float("nan"), 1), (float("inf"), 1)])
def test_a_mix_that_is_none_is_refused(weights):
    outcome, group, species = cases({(g, s): (4, 10) for g in "ab" for s in ("dog", "cat")})
    with pytest.raises(AuditError, match="weights of a mix are 0 or above, and not all 0"):
        standardised_shares(outcome, group, [species], mix=dict(zip([("dog",), ("cat",)], weights, strict=True)))


def test_a_cell_that_the_mix_leaves_out_changes_no_limit_of_a_group_without_it():
    table = {(g, s): (took, 10) for g, s, took in (("a", "dog", 8), ("b", "dog", 6), ("a", "cat", 5), ("b", "cat", 9))}
    mix = {("dog",): 3, ("cat",): 1}
    plain, more = (
        standardised_shares(*cases(rows)[:2], [cases(rows)[2]], mix=mix)
        for rows in (table, {**table, ("a", "fox"): (1, 9)})
    )
    assert (more.shares[1].low, more.shares[1].high) == (plain.shares[1].low, plain.shares[1].high)
    assert (more.shares[0].value, more.mix) == (plain.shares[0].value, plain.mix)
    assert (more.shares[0].numerator, more.shares[0].denominator) == (13, 20)


def test_five_animals_in_each_cell_are_enough():
    outcome, group, species = cases({(g, s): (3, 5) for g in "ab" for s in ("dog", "cat")})
    found = standardised_shares(outcome, group, [species])
    assert found.support.animals == ((5, 5), (5, 5))
    assert found.support.thin(5) == ()
    assert found.support.thin(6)[0] == ("a", ("cat",), 5)
    with pytest.raises(TooFewData, match="fewer than 6 animals: a in cat"):
        standardised_shares(outcome, group, [species], fewest=6)


def test_cells_of_one_case_by_hand():
    # Dogs 3 of 4 and a cat of 1 in one group, dogs 1 of 4 and no take in 1 cat in the other: the mix is 8 to 2.
    table = {("a", "dog"): (3, 4), ("a", "cat"): (1, 1), ("b", "dog"): (1, 4), ("b", "cat"): (0, 1)}
    outcome, group, species = cases(table)
    found = standardised_shares(outcome, group, [species], fewest=1)
    assert [share.value for share in found.shares] == pytest.approx([0.8 * 0.75 + 0.2, 0.8 * 0.25])
    # The cats are alike, so one is held to be 2 of 3 or 1 of 3: the variance is no less than that of the sum.
    floor = 0.64 * 0.1875 / 4 + 0.04 * (2 / 9)
    between = 5 / 3 * 0.64 * 0.1875 / 4
    middle = 0.8 * 0.75 + 0.2 * 2 / 3
    effective = middle * (1 - middle) / max(floor, between) * (1.959964 / 3.182446) ** 2  # t with 3 degrees
    expected = proportion_confint(0.8 * effective, effective, alpha=0.05, method="wilson")
    assert (found.shares[0].low, found.shares[0].high) == pytest.approx(expected, abs=1e-6)
