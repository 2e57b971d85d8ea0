"""Answers from planted rows: the course of the open area, agreement of raters, and models refused with a reason."""

from dataclasses import replace
from importlib.resources import files
from math import pi

import pytest

from audit.analyses.agreement import agreement, measured_agreement
from audit.analyses.factors import FACTORS, factors
from audit.analyses.own_values import Answers, counterparts
from audit.analyses.published import COUNTERPARTS, published_figures
from audit.analyses.run import run_audit
from audit.analyses.wound_closure import wound_closure
from audit.errors import AuditError
from audit.protocol import read_protocol
from tests.planted import plant, plant_case

PROTOCOL = read_protocol()
SMALL = PROTOCOL.analysis.model_copy(update={"smallest_curve": 2})


def animal(number):
    return f"{number:012x}"


def test_edge_advance_of_a_shrinking_circle(store):
    # Gilman's circle: radius 2.0 to 1.3 cm in 7 days is 0.1 cm, 1 mm, a day; then seen closed 10 days later.
    plant_case(store)
    for day, radius in ((4, 2.0), (11, 1.3)):
        plant(store, "visits", visit_day=day, open_area_cm2=pi * radius**2, open_perimeter_cm=2 * pi * radius)

    (case,) = wound_closure(store.under(PROTOCOL)).cases.to_dict("records")
    assert case["advance_mm"] == pytest.approx(1.0)
    assert case["reduction_pct"] == pytest.approx(100 * (1 - (1.3 / 2) ** 2))
    assert not case["by_circle"]


def test_a_closed_wound_ends_its_course_and_a_missing_perimeter_is_said(store):
    plant_case(store)
    for day, area in ((2, 9.0), (12, 0.0), (30, 0.0)):
        plant(store, "visits", visit_day=day, open_area_cm2=area)
    plant_case(store, animal(2))
    plant(store, "visits", animal=animal(2), visit_day=2, open_area_cm2=3.0)

    found = wound_closure(store.under(PROTOCOL))
    (case,) = found.cases.to_dict("records")
    assert (case["first_day"], case["last_day"], case["reduction_pct"], bool(case["by_circle"])) == (2, 12, 100.0, True)
    ((species, group, estimate),) = found.advance
    assert (species, group, estimate.denominator, estimate.low) == ("dog", "mesh_graft", 1, None)


def test_raters_are_counted_pair_by_pair_and_few_photographs_get_no_coefficient(store):
    for number, grades in enumerate(((3, 3), (2, 3), (1, 1))):
        plant_case(store, animal(number))
        for rater, value in enumerate(grades):
            plant(store, "scores", animal=animal(number), rater_code=animal(rater), value=value)
        plant(store, "scores", animal=animal(number), rater_code=animal(0), value=grades[0], is_repeat=True)

    (hair,) = agreement(store.under(PROTOCOL))
    assert (hair.item, hair.photographs, hair.raters, hair.exact, hair.pairs) == ("hair", 3, 2, 2, 3)
    assert hair.table.sum() == 3
    assert hair.table[2, 3] == 1
    assert hair.repeats == (3, 3)
    assert hair.alpha is None
    assert hair.refused.startswith("3 photographs")


def test_models_are_refused_with_the_events_they_lack(store):
    for number in range(6):
        plant_case(store, animal(number), recipient_bed="granulating" if number % 2 else "fresh_surgical")
        plant(store, "visits", animal=animal(number), visit_day=10, viable_pct=90, lost_pct=10, epithelialised="no")
    store._connection.execute("update wounds set area_cm2 = 4 + length(animal)")

    found = factors(store.under(PROTOCOL))
    healing = next(model for model in found.models if model.outcome == "days to healing")
    assert not healing.ratios
    assert "events" in healing.refused
    assert set(healing.left_out) == {FACTORS[0], FACTORS[1]}
    ((_, test, reason),) = found.curves
    assert test is None
    assert "10 animals" in reason


def test_two_raters_who_measure_a_constant_apart(store):
    for number in range(16):
        plant_case(store, animal(number))
        for rater in (0, 1):
            value = 50.0 + number + 4 * rater
            plant(store, "scores", animal=animal(number), item="viable_pct", rater_code=animal(rater), value=value)

    (viable,) = measured_agreement(store.under(PROTOCOL))
    assert (viable.item, viable.photographs, viable.limits.bias.value) == ("viable_pct", 16, -4.0)
    assert (viable.limits.lower.value, viable.limits.upper.value) == (-4.0, -4.0)
    # Variance between photographs 22.67, of the constant 8: the correlation is 22.67 / (22.67 + 8).
    assert viable.correlation.value == pytest.approx(22.6667 / 30.6667, abs=1e-4)


def plant_takes(store, takes):
    for number, viable in enumerate(takes):
        plant_case(store, animal(number))
        plant(store, "visits", animal=animal(number), viable_pct=viable, lost_pct=100 - viable, epithelialised="no")
        plant(store, "exits", animal=animal(number), last_seen_day=60)


def test_yardsticks_stand_beside_our_own_take_with_a_verdict(store):
    plant_takes(store, [100] * 20 + [10] * 20)

    found = run_audit(store.under(PROTOCOL)).yardsticks
    (target,) = found.target
    (rule,) = (stick for stick in found.rules if stick.quantity == "take")
    assert (target.own.numerator, target.own.denominator, target.verdict.word) == (20, 40, "lower")
    assert (rule.theirs, rule.differs, rule.verdict.word) == ((0.8, 0.9), "common practice, no source", "lower")
    papers = {stick.name.split()[0]: stick for stick in found.published if stick.quantity == "take"}
    # Bonaventura's 27 of 30 and ours of 20 in 40: the interval of the difference leaves out none.
    assert papers["Bonaventura"].verdict.word == "lower"
    assert papers["Vishwasrao"].verdict.word == "cannot tell"
    assert "Nolff" not in papers  # cats, and there are none


@pytest.mark.parametrize("quantity", COUNTERPARTS)
def test_a_published_figure_of_each_quantity_has_a_counterpart(store, quantity):
    cases = {plant_case(store, animal(number)) for number in range(2)}
    figure = replace(published_figures()[0], quantity=quantity, species="dog", method_group="mesh_graft")
    audit = run_audit(store.under(read_protocol().model_copy(update={"analysis": SMALL})))
    answers = Answers(audit.take, audit.healing, audit.complications, audit.donor, audit.bandages)
    (own,) = counterparts(figure, answers)
    assert own.species == "dog"
    assert {*own.cases, *own.unknown} == cases


def test_a_published_figure_of_anything_else_is_refused_with_what_may_be(store):
    with pytest.raises(AuditError, match="'contracture'; a published figure is of take, median_days, compl"):
        replace(published_figures()[0], quantity="contracture")
    header = (files("audit") / "published.toml").read_text("utf-8").split("[[figure]]")[0]
    assert f"# quantity: {', '.join(COUNTERPARTS)}\n" in header


def test_a_few_cases_give_no_verdict(store):
    plant_takes(store, [100, 10, 100])

    found = run_audit(store.under(PROTOCOL)).yardsticks
    assert found.target[0].own.denominator == 3
    assert all(stick.verdict is None for stick in (*found.target, *found.rules, *found.published))
