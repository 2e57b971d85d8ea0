import numpy as np
import pytest
from published import published
from visits import INF, days

from audit.errors import AuditError, EmptyGroup, TooFewData
from audit.stats.npmle import npmle
from audit.stats.restricted_mean import restricted_mean

# Finkelstein DM, Wolfe RA. Biometrics 1985;41:933-945 (breast cosmesis, radiotherapy alone).
RT = published("survival", "ic-cosmesis-rt")


def mean(left, right, horizon, **options):
    return restricted_mean(left, right, horizon, np.random.default_rng(1), **{"draws": 200, **options})


def test_exact_days_give_the_restricted_mean_recomputed_in_r_and_its_error():
    # Recomputed in R (survival) on the data of Freireich EJ and others. Blood 1963;21:699-716. Its error is
    # Greenwood's; a bootstrap's differs by little and by chance.
    case = published("survival", "km-freireich-rmst")
    arm, day, status = (np.array(case.data[name]) for name in ("arm", "time", "status"))
    mine = arm == "6-MP"
    found = mean(day[mine], np.where(status == 1, day, INF)[mine], case.data["tau"], draws=2000)
    assert found.value == pytest.approx(case.value("rmst_6mp"), abs=2e-3)
    assert found.value_to == found.value
    t = 2.085963  # 97.5 % point of Student's t with 20 degrees of freedom
    assert (found.value - found.low) / t == pytest.approx(case.value("se_6mp"), rel=0.1)


def test_bounds_put_each_mass_at_the_two_ends_of_its_interval():
    left, right, _ = days(RT)
    curve = npmle(left, right)
    found = mean(left, right, 40)
    assert found.value == pytest.approx(curve.mass @ np.minimum(curve.left, 40), abs=1e-3)
    assert found.value_to == pytest.approx(curve.mass @ np.minimum(curve.right, 40), abs=1e-3)
    assert found.low < found.value < found.value_to < found.high


def test_one_animal_counted_twice_widens_nothing_away():
    left, right, _ = days(RT)
    once = mean(left, right, 40, draws=1000)
    twice = mean(left * 2, right * 2, 40, draws=1000, animal=[*range(46), *range(46)])
    assert (twice.animals, twice.denominator) == (46, 92)
    assert twice.value == pytest.approx(once.value, abs=1e-2)
    assert twice.value - twice.low == pytest.approx(once.value - once.low, rel=0.1)


def test_tallied_rows_are_drawn_as_single_ones():
    tallied = mean([0, 14, 21], [14, 21, INF], 42, weight=[2, 15, 3], draws=2000)
    single = mean(np.repeat([0, 14, 21], [2, 15, 3]), np.repeat([14, 21, INF], [2, 15, 3]), 42, draws=2000)
    assert (tallied.animals, tallied.value, tallied.value_to) == pytest.approx(
        (20, single.value, single.value_to), abs=1e-3
    )
    assert (tallied.low, tallied.high) == pytest.approx((single.low, single.high), abs=0.4)


def test_second_run_is_the_same_bit_for_bit():
    left, right, _ = days(RT)
    assert mean(left, right, 40) == mean(left, right, 40)


def test_no_spread_is_said():
    assert mean([14] * 5, [21] * 5, 42).notes == ("all animals are alike on record, so the bootstrap sees no spread",)


def test_senseless_requests_are_refused():
    with pytest.raises(TooFewData, match="at least 2 animals"):
        mean([0, 7], [7, 14], 42, animal=["rex", "rex"])
    with pytest.raises(AuditError, match="horizon"):
        mean([0, 7], [7, 14], 0)
    with pytest.raises(EmptyGroup):
        mean([], [], 42)


def test_limits_are_cut_at_surgery_and_at_the_horizon():
    found = mean([1, 59], [2, 61], 60)
    assert (found.low, found.high) == (0, 60)
    assert (found.value, found.value_to) == pytest.approx(((1 + 59) / 2, (2 + 60) / 2))


def test_limits_are_students_around_the_error_of_a_mean_by_hand():
    # Exact days 10 to 30: the mean's error is that of the sample; t with 4 degrees of freedom at 0.9 is 2.131847.
    day = np.array([10.0, 15, 20, 25, 30])
    found = mean(day, day, 60, level=0.9, draws=4000)
    assert found.value == found.value_to == pytest.approx(20)
    half = 2.131847 * day.std(ddof=1) / np.sqrt(5)
    assert (20 - found.low, found.high - 20) == pytest.approx((half, half), rel=0.04)
    assert (found.notes, found.quantity) == ((), "mean days to healing, up to day 60")


def test_rows_of_weight_0_take_their_animal_with_them():
    left, right, animal = [0, 7, 14, 3], [7, 14, 21, 5], ["a", "b", "c", "d"]
    found = mean(left, right, 42, animal=animal, weight=[1, 1, 1, 0])
    assert found == mean(left[:3], right[:3], 42, animal=animal[:3])
    assert (found.animals, found.denominator) == (3, 3)
    with pytest.raises(AuditError, match="the horizon is a day above 0, not inf"):
        mean(left, right, INF)
