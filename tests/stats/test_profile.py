from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from published import published
from scipy.optimize import brentq, minimize
from visits import INF, VISITS, days, ends

from audit.errors import AuditError, EmptyGroup
from audit.stats.npmle import npmle
from audit.stats.profile import band, design_effect_by_day, quantile_interval, share_interval
from audit.stats.proportions import clustered_share

CHI2 = 3.841458820694124  # 95 % point of chi-square, 1 df


def limits(estimate):
    return estimate.low, estimate.high


def binomial_fall(k, n, theta):
    """Twice the fall of the binomial log-likelihood from its greatest."""
    return 2 * sum(count * log(count / n / share) for count, share in ((k, theta), (n - k, 1 - theta)) if count)


@pytest.mark.parametrize(("healed", "n"), [(7, 20), (1, 8), (39, 40)])
def test_complete_days_give_the_binomial_likelihood_interval(healed, n):
    found = share_interval([0] * healed + [21] * (n - healed), [14] * healed + [INF] * (n - healed), 21)
    low, high = (
        brentq(lambda share: binomial_fall(healed, n, share) - CHI2, *bracket, xtol=1e-12)
        for bracket in ((1e-9, healed / n), (healed / n, 1 - 1e-9))
    )
    assert limits(found) == pytest.approx((low, high), abs=1e-6)
    assert (found.value, found.numerator, found.denominator, found.unknown) == (healed / n, healed, n, 0)


def test_none_and_all_healed_have_the_exact_one_sided_limit():
    edge = 1 - 0.05 ** (1 / 20)  # (1 - theta)^20 = 0.05
    none = share_interval([21] * 20, [INF] * 20, 21)
    every = share_interval([0] * 20, [14] * 20, 21)
    assert (none.value, *limits(none)) == pytest.approx((0, 0, edge), abs=1e-6)
    assert (every.value, *limits(every)) == pytest.approx((1, 1 - edge, 1), abs=1e-6)


def test_cases_that_nobody_saw_after_leave_everything_open():
    found = share_interval([14] * 9, [INF] * 9, 21)
    assert (found.value, found.value_to, *limits(found)) == (0, 1, 0, 1)
    assert (found.numerator, found.unknown) == (0, 9)
    assert found.notes == ("the visits do not settle the share on day 21",)


@pytest.mark.parametrize("day", [6, 10, 20, 23])
def test_right_censored_days_give_the_limits_of_thomas_and_grunkemeier(day):
    # Thomas DR, Grunkemeier GL. J Am Stat Assoc 1975;70:865-871: S = prod(1 - d / (r + lambda)), lambda shared.
    left, right, _ = days(published("survival", "ic-reduces-to-km"))
    case = published("survival", "km-freireich-6mp")
    d, r = (
        np.array([count for count, at in zip(case.value(name), case.value("event_times"), strict=True) if at <= day])
        for name in ("n_event", "n_risk")
    )

    def fall(shift):
        return 2 * np.sum(r * np.log1p(shift / r) - (r - d) * np.log1p(shift / (r - d))) - CHI2

    shifts = brentq(fall, 0, 1e5), brentq(fall, -(r - d).min() + 1e-9, 0)
    expected = [1 - np.prod(1 - d / (r + shift)) for shift in shifts]
    assert limits(share_interval(left, right, day)) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("day", [14, 20, 25])
def test_limits_lie_where_a_general_optimiser_finds_the_fall(day):
    left = np.array([0, 7, 7, 14, 14, 20, 21, 25, 10, 3.0])
    right = np.array([7, 14, 21, 21, 28, 27, INF, 40, INF, 30.0])
    edges = np.unique(np.concatenate((left, right[np.isfinite(right)], [day])))
    cover = (edges >= left[:, None]) & (np.append(edges[1:], INF) <= right[:, None])
    early = edges < day

    def loglik_at(theta):
        start = np.where(early, theta / early.sum(), (1 - theta) / (~early).sum())
        found = minimize(
            lambda p: -np.log(cover @ p).sum(),
            start,
            jac=lambda p: -(cover / (cover @ p)[:, None]).sum(axis=0),
            bounds=[(1e-12, 1)] * len(edges),
            constraints=[
                {"type": "eq", "fun": lambda p: p[early].sum() - theta},
                {"type": "eq", "fun": lambda p: p[~early].sum() - 1 + theta},
            ],
            method="SLSQP",
            options={"ftol": 1e-12, "maxiter": 500},
        )
        return -found.fun

    found = share_interval(left, right, day)
    best = npmle(left, right).loglik
    assert 0 < found.low < found.value <= found.value_to < found.high < 1
    for theta in limits(found):
        assert 2 * (best - loglik_at(theta)) == pytest.approx(CHI2, abs=1e-4)


def test_design_effect_of_two_undoes_counting_each_case_twice():
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis).
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    once = share_interval(left, right, 30)
    twice = share_interval(left, right, 30, weight=[2] * len(left), design_effect=2)
    assert limits(twice) == pytest.approx(limits(once), abs=1e-6)


def test_design_effect_of_a_day_is_that_of_the_share_among_the_known():
    # By day 14: rex 2 of 2, luna 1 of 2, momo 0 of 1 (nobody saw the other since day 10), and pia left unhealed.
    left, right = [0, 0, 7, 14, 14, 10, 9], [7, 14, 14, 21, INF, INF, 9]
    animal, never = ["rex", "rex", "luna", "luna", "momo", "momo", "pia"], [False] * 6 + [True]
    effect = design_effect_by_day(left, right, animal, never=never)
    assert effect(14) == clustered_share([2, 1, 0, 0], [2, 2, 1, 1]).design_effect > 1
    assert effect(3) == clustered_share([0, 0, 0], [2, 2, 1]).design_effect
    assert design_effect_by_day(left, right, range(7))(14) == 1


def test_each_day_is_read_at_its_own_design_effect():
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis).
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    at = [10, 20, 40]
    drawn = band(left, right, at, design_effect=lambda day: 1 + day / 20)
    for i, day in enumerate(at):
        one = share_interval(left, right, day, design_effect=1 + day / 20)
        assert (drawn.low[i], drawn.high[i]) == pytest.approx(limits(one), abs=1e-6)
        assert limits(share_interval(left, right, day, design_effect=lambda d: 1 + d / 20)) == limits(one)


def test_few_animals_use_the_f_quantile():
    # t(7)^2 = F(1, 7) has its 95 % point at 2.364624^2 (any table of Student's t).
    found = share_interval([0] * 2 + [21] * 6, [14] * 2 + [INF] * 6, 21, degrees=7)
    high = brentq(lambda share: binomial_fall(2, 8, share) - 2.364624**2, 0.25, 1 - 1e-9)
    assert found.high == pytest.approx(high, abs=1e-6)
    assert found.method == "profile likelihood, F quantile"


@given(VISITS)
@settings(max_examples=25, deadline=None)
def test_band_holds_the_estimate_rises_with_the_day_and_equals_the_single_days(rows):
    left, right = ends(rows)
    at = [0, 3, 5.5, 9, 14, 25]
    drawn = band(left, right, at)
    assert (drawn.low <= drawn.value + 1e-6).all()
    assert (drawn.value_to <= drawn.high + 1e-6).all()
    assert (np.diff(drawn.low) >= -1e-6).all()
    assert (np.diff(drawn.high) >= -1e-6).all()
    # Wherever the single days' limits do not rise by themselves, the band is widened until they do.
    low, high = np.array([limits(share_interval(left, right, day)) for day in at]).T
    assert drawn.low == pytest.approx(np.minimum.accumulate(low[::-1])[::-1], abs=1e-5)
    assert drawn.high == pytest.approx(np.maximum.accumulate(high), abs=1e-5)


# Found by hypothesis: a share of 0 on day 3 allows more above it than the share on day 5.5 does.
@pytest.mark.parametrize("rows", [[(0, 4), (3, INF), *[(6, 6)] * 4], [*[(0, 1)] * 4, (0, 4), (1, INF)]])
def test_band_rises_where_a_share_at_the_edge_is_allowed_more(rows):
    left, right = np.array(rows, dtype=float).T
    drawn = band(left, right, [0, 3, 5.5, 9, 14, 25])
    assert (np.diff(drawn.low) >= 0).all()
    assert (np.diff(drawn.high) >= 0).all()


def test_median_of_exact_days_inverts_the_binomial_likelihood_test():
    day = np.arange(3.0, 33.0, 2)
    kept = [k for k in range(len(day) + 1) if binomial_fall(k, len(day), 0.5) <= CHI2]
    found = quantile_interval(day, day, 0.5)
    assert (found.value, found.value_to) == (day[7], day[7])
    assert limits(found) == (day[kept[0] - 1], day[kept[-1]])


@pytest.mark.parametrize("p", [0.25, 0.5, 0.75])
def test_quantile_limits_are_the_days_whose_band_holds_it(p):
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis).
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    at = np.arange(0, 60, 0.5)
    drawn = band(left, right, at)
    inside = at[(drawn.low <= p) & (p <= drawn.high)]
    found = quantile_interval(left, right, p)
    assert found.low == pytest.approx(inside[0], abs=0.5)
    assert found.high is None if inside[-1] > 50 else found.high == pytest.approx(inside[-1], abs=0.5)


def test_median_not_reached_is_said():
    found = quantile_interval([30] * 9 + [0], [INF] * 9 + [30], 0.5)
    assert (found.value, found.value_to, found.high) == (30, None, None)
    assert "no upper limit" in found.notes[0]


@pytest.mark.parametrize(("day", "sure", "unknown"), [(6.9, 0, 1), (7, 1, 0), (7.1, 1, 2), (14, 3, 0)])
def test_sure_and_unknown_cases_at_the_borders_of_their_visits(day, sure, unknown):
    found = share_interval([0, 7, 14], [7, 14, INF], day, weight=[1, 2, 3])
    assert (found.numerator, found.unknown, found.denominator) == (sure, unknown, 6)


# Chi-square with 1 degree of freedom, 90 %, and Student's t with 1, 95 % two-sided, from any table.
@pytest.mark.parametrize(("options", "fall"), [({"level": 0.9}, 2.705543), ({"degrees": 1}, 12.706205**2)])
def test_level_and_degrees_are_not_hard_wired(options, fall):
    found = share_interval([0] * 14 + [21] * 6, [14] * 14 + [INF] * 6, 21, **options)
    low, high = (
        brentq(lambda share: binomial_fall(14, 20, share) - fall, *bracket, xtol=1e-15)
        for bracket in ((1e-12, 0.7), (0.7, 1 - 1e-12))
    )
    assert limits(found) == pytest.approx((low, high), abs=1e-6)


def test_few_animals_widen_the_limit_of_none_healed_too():
    # t(7)^2 / 2 = 2.795724 is less than -log 0.05, which stays; t(3)^2 / 2 = 5.064 is more, and takes its place.
    wide, wider = (share_interval([21] * 8, [INF] * 8, 21, degrees=degrees).high for degrees in (7, 3))
    assert wide == pytest.approx(1 - 0.05 ** (1 / 8), abs=1e-6)
    assert wider == pytest.approx(1 - np.exp(-(3.182446**2) / 2 / 8), abs=1e-6)


def test_order_and_repeats_of_the_days_of_a_band_change_nothing():
    # Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis).
    left, right, _ = days(published("survival", "ic-cosmesis-rt"))
    at = np.array([5, 12, 20, 33, 45])
    sorted_, mixed = band(left, right, at), band(left, right, at[[3, 0, 4, 3, 2, 1]])
    for name in ("days", "value", "value_to", "low", "high"):
        assert getattr(mixed, name) == pytest.approx(getattr(sorted_, name)[[3, 0, 4, 3, 2, 1]], abs=1e-6)


def test_nobody_known_on_the_day_leaves_a_design_effect_of_one():
    effect = design_effect_by_day([0, 0, 0], [9, 9, 9], ["rex", "rex", "luna"])
    assert (effect(5), effect(9)) == (1, 1.5)


def test_median_of_days_between_visits_is_the_visits_around_it():
    # 4 of 8 in (7, 14], and a case in place on day 14 leaves the rest beyond: 0.5 is reached on day 14, by hand.
    found = quantile_interval([7] * 4 + [14] * 4, [14] * 4 + [21] * 4, 0.5)
    assert (found.value, found.value_to) == (7, 14)
    later = quantile_interval([7] * 4 + [14] * 4, [14] * 4 + [21] * 4, 0.51)
    assert (later.value, later.value_to) == (14, 21)
    assert (later.quantity, later.denominator) == ("day by which 51% have healed", 8)


def test_a_share_that_nobody_reached_has_no_day():
    found = quantile_interval([10] * 3 + [28] * 37, [10] * 3 + [INF] * 37, 0.9)
    assert (found.value, found.value_to, found.low, found.high) == (28, None, 28, None)


# With none of 20 healed the limit is 1 - 0.05^(1 / 20) = 0.139, not the 0.092 of chi-square.
@pytest.mark.parametrize(("p", "low"), [(0.09, 0), (0.13, 0), (0.15, 21)])
def test_days_on_which_none_has_healed_hold_what_their_one_sided_limit_holds(p, low):
    assert quantile_interval([21] * 20, [28] * 20, p).low == low


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ({"design_effect": INF}, "design effect is at least 1, not inf"),
        ({"degrees": 0.5}, "degrees of freedom are at least 1, not 0.5"),
    ],
)
def test_senseless_allowances_are_refused(options, fault):
    with pytest.raises(AuditError, match=fault):
        share_interval([0], [3], 21, **options)


def test_senseless_requests_are_refused():
    with pytest.raises(EmptyGroup):
        share_interval([], [], 21)
    with pytest.raises(AuditError, match="design effect is at least 1"):
        share_interval([0], [3], 21, design_effect=0.5)
    with pytest.raises(AuditError, match="confidence level"):
        band([0], [3], [21], level=95)
    with pytest.raises(AuditError, match="quantile"):
        quantile_interval([0], [3], 1.0)
