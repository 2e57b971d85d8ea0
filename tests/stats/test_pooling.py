import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published import published
from scipy.stats import beta, betabinom

from audit.errors import AuditError, EmptyGroup
from audit.stats.pooling import pooled_shares

TALLIES = st.lists(
    st.integers(0, 12).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), min_size=2, max_size=5
)


def names(y):
    return [f"level {i}" for i in range(len(y))]


def brute_force(y, n, cells=400):
    """Another route: scipy's beta-binomial on an even grid of the share and the relative spread itself."""
    middle = (np.arange(cells) + 0.5) / cells
    share, relative = (grid.ravel() for grid in np.meshgrid(middle, middle))
    size = 1 / relative**2 - 1
    weight = np.exp(sum(betabinom.logpmf(k, m, share * size, (1 - share) * size) for k, m in zip(y, n, strict=True)))
    weight /= weight.sum()
    means = [weight @ ((share * size + k) / (size + m)) for k, m in zip(y, n, strict=True)]
    return means, weight @ share, weight @ (relative * np.sqrt(share * (1 - share))), (share, size, weight)


@pytest.mark.parametrize(("y", "n"), [([9, 4, 5], [10, 8, 5]), ([1, 6, 30], [7, 7, 60])])
def test_agrees_with_brute_force(y, n):
    found = pooled_shares(names(y), y, n)
    means, overall, spread, (share, size, weight) = brute_force(y, n)
    assert [estimate.value for estimate in found.levels] == pytest.approx(means, abs=5e-4)
    assert found.overall.value == pytest.approx(overall, abs=5e-4)
    assert found.spread.value == pytest.approx(spread, abs=5e-4)
    for estimate, k, m in zip(found.levels, y, n, strict=True):
        below = [
            weight @ beta.cdf(x, share * size + k, (1 - share) * size + m - k) for x in (estimate.low, estimate.high)
        ]
        assert below == pytest.approx([0.025, 0.975], abs=1e-3)


# Litters of Weil (1970): posterior means under the maximum-likelihood prior. With 32 litters the full posterior of
# the prior is narrow, so that full Bayes must come close to them.
def test_shrinks_the_litters_as_empirical_bayes_does():
    case = published("pooling", "eb-rats-betabinomial")
    y, n = case.data["y"], case.data["n"]
    found = pooled_shares(names(y), y, n).levels
    chosen = [found[i - 1].value for i in (1, 32, 26)]
    assert chosen == pytest.approx(case.value("posterior_1_32_26"), abs=0.01)


# Efron B, Morris C. JASA 1975;70:311: 18 batting averages. James-Stein is another estimator, hence the wide margin.
def test_shrinks_batting_averages_about_as_james_stein_does():
    case = published("pooling", "eb-baseball-james-stein")
    hits = case.data["hits"]
    found = pooled_shares(names(hits), hits, [case.data["n"]] * 18).levels
    assert [found[0].value, found[-1].value] == pytest.approx(case.value("shrunken_first_last"), abs=0.02)


def test_levels_alike_give_the_common_share():
    case = published("pooling", "eb-underdispersed")
    found = pooled_shares(names(case.data["y"]), case.data["y"], case.data["n"])
    assert [estimate.value for estimate in found.levels] == case["posterior"]


@given(TALLIES.filter(lambda rows: sum(n for _, n in rows) > 0), st.randoms(use_true_random=False))
@settings(max_examples=15, deadline=None)
def test_order_changes_nothing_and_shares_lie_between_raw_and_overall(rows, random):
    y, n = np.array(rows).T
    found = pooled_shares(names(y), y, n)
    order = random.sample(range(len(y)), len(y))
    again = pooled_shares(names(y), y[order], n[order])
    assert [found.levels[i].value for i in order] == pytest.approx([level.value for level in again.levels])
    assert all(0 <= level.low < level.value < level.high <= 1 for level in found.levels)
    # Failures in place of successes mirror every share.
    mirrored = pooled_shares(names(y), n - y, n)
    assert [1 - level.value for level in found.levels] == pytest.approx([level.value for level in mirrored.levels])


def test_millions_of_cases_keep_the_raw_share():
    found = pooled_shares(["a", "b", "c"], [700_000, 800_000, 900_000], [1_000_000] * 3).levels
    assert [level.value for level in found] == pytest.approx([0.7, 0.8, 0.9], abs=1e-5)
    # One level of a million is nearly binomial: half-width 1.96 sqrt(p (1 - p) / n).
    assert found[0].high - found[0].value == pytest.approx(1.96 * np.sqrt(0.21 / 1e6), rel=0.01)


def test_many_like_levels_settle_the_overall_share():
    """The box of integration must find a narrow mass far from one half: twelve levels of 990 in 1,000."""
    found = pooled_shares(names(range(12)), [990] * 12, [1_000] * 12)
    assert found.overall.value == pytest.approx(0.99, abs=1e-3)
    assert found.overall.low == pytest.approx(0.99 - 1.96 * np.sqrt(0.0099 / 12_000), abs=1e-3)
    assert found.spread.high < 0.01


def test_a_level_without_cases_gets_the_overall_share_and_none_at_all_is_refused():
    found = pooled_shares(["a", "b", "c"], [8, 9, 0], [10, 10, 0])
    assert found.levels[2].value == pytest.approx(found.overall.value)
    assert found.levels[2].low < found.levels[0].low
    with pytest.raises(EmptyGroup, match="no level"):
        pooled_shares(["a"], [0], [0])
    with pytest.raises(AuditError, match="successes from 0"):
        pooled_shares(["a"], [2], [1])


def test_each_level_keeps_its_name_counts_and_level():
    found = pooled_shares(["a", "b"], [3.4, 2], [5.6, 4], level=0.8)
    first = found.levels[0]
    assert (first.group, first.numerator, first.denominator, first.animals) == ("a", 3, 6, 6)
    assert [estimate.level for estimate in (first, found.overall, found.spread)] == [0.8] * 3
    wide = pooled_shares(["a", "b"], [3.4, 2], [5.6, 4])
    assert all(
        a.low < b.low < b.value == a.value < b.high < a.high for a, b in zip(wide.levels, found.levels, strict=True)
    )
    assert pooled_shares(["a"], [3], [5], unit="grafts").levels[0].animals is None
    with pytest.raises(AuditError, match="successes from 0"):
        pooled_shares(["a"], [-1], [2])


@pytest.mark.parametrize(("y", "n"), [([9, 4, 5], [10, 8, 5]), ([1, 6, 30], [7, 7, 60])])
def test_limits_of_the_overall_share_and_the_spread_agree_with_brute_force(y, n):
    found = pooled_shares(names(y), y, n)
    *_, (share, size, weight) = brute_force(y, n)
    spread = np.sqrt(share * (1 - share) / (size + 1))
    for estimate, values in ((found.overall, share), (found.spread, spread)):
        below = [weight[values <= end].sum() for end in (estimate.low, estimate.high)]
        assert below == pytest.approx([0.025, 0.975], abs=4e-3)
