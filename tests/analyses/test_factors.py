"""What goes with healing, take and hair: fits held to their own identities, and refusals to their reasons."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from statsmodels.miscmodels.ordinal_model import OrderedModel

from audit.analyses.factors import FACTORS, factors
from audit.stats.aft import aft
from tests.planted import protocol_with, tallied

DOG = {"species": "dog", "method_group": "mesh_graft", "healing_status": "eligible", "is_distal": True,
       "recipient_bed": "granulating", "area_cm2": 8.0, "left_day": 0, "cause": "censored"}  # fmt: skip


def asked(rows, **terms):
    with tallied(protocol_with("analysis", **terms), covariate_tally=rows) as cases:
        return factors(cases)


def invented(number=120, seed=4):
    rng = np.random.default_rng(seed)
    rows = []
    for n in range(number):
        area, distal, bed = 2.0 ** rng.integers(1, 6), bool(rng.random() < 0.5), rng.random() < 0.5
        healed = int(rng.integers(8, 40) + np.log2(area) + 4 * distal)
        rows.append(
            DOG
            | {"area_cm2": float(area), "is_distal": distal,
               "recipient_bed": "granulating" if bed else "fresh_surgical",
               "left_day": healed - 4, "right_day": healed, "cause": "healed",
               "take_status": "sure_yes" if rng.random() < 0.6 + 0.2 * bed else "sure_no",
               "hair_grade": int(rng.integers(0, 3) + distal), "hair_day": int(rng.integers(90, 300)),
               "method_group": "mesh_graft" if n % 2 else "sheet_graft"}
        )  # fmt: skip
    return rows


def design(rows, *more):
    bed = rows["recipient_bed"] == "granulating"
    return np.column_stack([np.log2(rows["area_cm2"]), rows["is_distal"], bed, *more]).astype(float)


@pytest.fixture(scope="module")
def answer():
    return asked(invented())


def ratios(answer, outcome):
    (model,) = (model for model in answer.models if model.outcome == outcome)
    assert model.refused == ""
    return {ratio.group: ratio for ratio in model.ratios}, model


def test_ratios_of_healing_are_of_a_doubled_area_and_of_days(answer):
    found, model = ratios(answer, "days to healing")
    assert list(found) == list(FACTORS)
    rows = pd.DataFrame(invented())
    x = design(rows)
    alone = aft(rows["left_day"].to_numpy(float), rows["right_day"].to_numpy(float), x, FACTORS).time_ratios
    for ratio in alone:
        assert found[ratio.group].value == pytest.approx(ratio.value, rel=1e-5)
    assert found[FACTORS[1]].value > 1
    assert (len(model.cases), model.left_out) == (120, ())
    assert model.check


def test_odds_of_take_are_those_of_logistic_regression_a_little_shrunk(answer):
    found, _ = ratios(answer, "take")
    rows = pd.DataFrame(invented())
    x = design(rows)
    fit = sm.Logit((rows["take_status"] == "sure_yes").to_numpy(float), sm.add_constant(x)).fit(disp=0)
    for name, coefficient in zip(FACTORS, fit.params[1:], strict=True):
        assert np.log(found[name].value) == pytest.approx(coefficient, abs=0.06)


def test_hair_is_allowed_thirty_days_at_a_time(answer):
    found, model = ratios(answer, "hair grade")
    assert list(found) == [*FACTORS, "30 days later"]
    halved = asked([row | {"hair_day": row["hair_day"] * 2} for row in invented()])
    later, _ = ratios(halved, "hair grade")
    # The same days counted double: half the logarithm a month, and nothing else moves.
    assert np.log(later["30 days later"].value) == pytest.approx(np.log(found["30 days later"].value) / 2, rel=1e-3)
    assert later[FACTORS[1]].value == pytest.approx(found[FACTORS[1]].value, rel=1e-3)
    rows = pd.DataFrame(invented())
    x = design(rows, rows["hair_day"] / 30)
    fit = OrderedModel(rows["hair_grade"].to_numpy(), x, distr="logit").fit(method="bfgs", disp=0)
    for name, coefficient in zip(found, fit.params[:4], strict=True):
        assert found[name].value == pytest.approx(np.exp(coefficient), rel=0.01)
    assert 0 <= dict(model.check)["p of proportional odds"] <= 1


def test_cases_without_size_site_or_bed_are_left_out_and_so_are_factors_without_spread():
    rows = [row | {"is_distal": True} for row in invented()]
    rows[0] = rows[0] | {"area_cm2": None}
    rows[1] = rows[1] | {"recipient_bed": None}
    _, model = ratios(asked(rows), "take")
    assert (len(model.cases), model.left_out) == (118, (FACTORS[1],))
    assert [ratio.group for ratio in model.ratios] == [FACTORS[0], FACTORS[2]]


@pytest.mark.parametrize(
    ("change", "reason"),
    [({"area_cm2": None}, "no case has size, site and bed on record"), ({}, "no factor differs between the cases")],
)
def test_no_model_without_cases_or_without_spread(change, reason):
    (model,) = asked([DOG | {"take_status": "sure_yes", "weight": 9, "healing_status": None} | change]).models
    assert (model.outcome, model.refused, model.ratios) == ("take", reason, ())
    assert len(model.cases) == (0 if change else 9)


def healed(group, day, weight=1):
    return DOG | {"method_group": group, "left_day": day - 3, "right_day": day, "cause": "healed", "weight": weight}


def test_curves_are_compared_of_kinds_with_animals_enough():
    rows = [healed("mesh_graft", 12, 10), healed("sheet_graft", 40, 10), healed("piece_graft", 12, 9)]
    ((species, test, refused),) = asked(rows).curves
    assert (species, refused) == ("dog", "")
    assert test.p < 0.01
    ((_, none, why),) = asked(rows[1:]).curves
    assert (none, why) == (None, "fewer than two kinds of graft have 10 animals")
    ((_, none, why),) = asked([DOG | {"weight": 10}, DOG | {"weight": 10, "method_group": "sheet_graft"}]).curves
    assert (none, why) == (None, "none of their cases was seen healed")


def test_an_exit_is_never_healed_in_the_comparison_of_curves():
    def p(**ends):
        rows = [
            healed("mesh_graft", 12, 10),
            DOG | {"method_group": "sheet_graft", "left_day": 2, "weight": 10} | ends,
            healed("sheet_graft", 12, 2),
        ]
        ((_, test, _),) = asked(rows).curves
        return test.p

    # Ten that lost the limb on day 2 tell that sheets heal less; ten that were last seen on day 2 tell nothing.
    assert p(cause="amputated_wound") < 0.01
    assert p(cause="censored") > 0.3


def test_take_of_kinds_of_graft_over_one_mix_of_sites():
    def taken(group, distal, yes, no):
        row = DOG | {"method_group": group, "is_distal": distal, "healing_status": None}
        return [row | {"take_status": s, "weight": n} for s, n in (("sure_yes", yes), ("sure_no", no)) if n]

    rows = [*taken("mesh_graft", True, 6, 6), *taken("mesh_graft", False, 9, 3),
            *taken("flap", True, 4, 2), *taken("flap", None, 10, 2)]  # fmt: skip
    ((species, found, refused),) = asked(rows).standardised
    assert (species, refused) == ("dog", "")
    # Of 42 cases 18 are distal and 24 at other sites, the unknown among them.
    assert {group: share.value for group, share in zip(found.groups, found.shares, strict=True)} == {
        "flap": pytest.approx((18 * 4 / 6 + 24 * 10 / 12) / 42),
        "mesh graft": pytest.approx((18 / 2 + 24 * 3 / 4) / 42),
    }  # fmt: skip
    ((_, none, why),) = asked(taken("flap", True, 9, 3)).standardised
    assert none is None
    assert why
