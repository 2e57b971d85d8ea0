"""Every public statistic refuses the same faults in the same words: planted one at a time, where they apply."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pandas as pd
import pytest
from test_methods_page import functions_that_judge

from audit.errors import AuditError
from audit.results import Estimate
from audit.stats import (
    aft,
    agreement,
    checked,
    competing,
    covariates,
    firth,
    hodges_lehmann,
    interval_log_rank,
    kaplan_meier,
    kruskal,
    measurement,
    median,
    npmle,
    ordinal,
    percent,
    permutation,
    pooling,
    profile,
    proportional_odds,
    proportions,
    recurrent,
    restricted_mean,
    standardise,
    verdict,
)

N = 40
DRAWN = np.random.default_rng(1)
LEFT = DRAWN.integers(5, 40, N).astype(float)
RIGHT = LEFT + 7
X = DRAWN.normal(size=(N, 1))
YES = np.tile([0, 1, 1, 0], 10)
GRADE = np.tile([0, 1, 2, 1, 2], 8)
ANIMAL = np.repeat(np.arange(N // 2), 2)
GROUP = np.tile(["mesh", "sheet"], N // 2)
HALF = np.arange(20.0)
MODEL = aft.aft(LEFT, RIGHT, X, ["size"])


def rng() -> np.random.Generator:
    return np.random.default_rng(2)


def visits(**more: Any) -> dict[str, Any]:
    return {"left": LEFT, "right": RIGHT, "weight": np.ones(N), **more}


# What is right for each; `design_effect` and the like keep their defaults. Arrays of one length stand for one another.
CALLS: dict[Callable, dict[str, Any]] = {
    aft.aft: visits(covariates=X, names=["size"], animal=ANIMAL, level=0.95),
    aft.residual_check: visits(fit=MODEL, covariates=X, group=GROUP),
    agreement.rating_table: {"first": GRADE, "second": GRADE[::-1], "categories": 3},
    agreement.weighted_kappa: {"table": [[9, 1], [2, 8]], "weights": "linear", "level": 0.95},
    agreement.krippendorff_alpha: {
        "ratings": np.c_[GRADE, GRADE[::-1]], "categories": 3, "animal": ANIMAL, "rng": rng(), "level": 0.95,
    },
    agreement.gwet_ac2: {
        "ratings": np.c_[GRADE, GRADE[::-1]], "categories": 3, "animal": ANIMAL, "rng": rng(), "level": 0.95,
    },
    competing.competing_npmle: visits(cause=np.ones(N)),
    competing.competing_share_interval: visits(cause=np.ones(N), day=21, level=0.95),
    competing.competing_band: visits(cause=np.ones(N), days=[7, 14], level=0.95),
    competing.competing_quantile_interval: visits(cause=np.ones(N), p=0.5, level=0.95),
    firth.firth_logistic: {"outcome": YES, "covariates": X, "names": ["size"], "weight": np.ones(N), "level": 0.95},
    hodges_lehmann.hodges_lehmann: {"first": HALF, "second": HALF[:9], "level": 0.95},
    interval_log_rank.interval_log_rank: {
        "left": LEFT, "right": RIGHT, "group": GROUP, "rng": rng(), "animal": ANIMAL, "draws": 9,
    },
    interval_log_rank.sun_scores: {"left": LEFT, "right": RIGHT},
    kaplan_meier.follow_up: {
        "day": LEFT, "is_event": YES, "weight": np.ones(N), "animal": ANIMAL, "level": 0.95,
    },
    kruskal.kruskal_wallis: {"groups": [HALF, HALF + 1], "animal": [HALF, HALF + 50], "rng": rng(), "draws": 9},
    kruskal.dunn_pairs: {"groups": [HALF, HALF + 1]},
    measurement.intraclass_correlation: {"measurements": np.c_[LEFT, RIGHT + YES], "animal": ANIMAL, "level": 0.95},
    measurement.limits_of_agreement: {"first": LEFT, "second": RIGHT + YES, "level": 0.95},
    median.median_interval: {"values": LEFT, "quantity": "changes", "level": 0.95},
    npmle.npmle: visits(),
    ordinal.superiority: {
        "first": HALF, "second": HALF, "first_animal": HALF, "second_animal": HALF + 50, "level": 0.95,
    },
    percent.percent_take: {
        "viable": LEFT, "uncertain": YES, "animal": ANIMAL, "rng": rng(), "level": 0.95,
    },
    permutation.swaps: {"weight": [2, 2], "chosen": 2, "rng": rng()},
    pooling.pooled_shares: {"names": ["a", "b"], "successes": [1, 2], "totals": [3, 4], "level": 0.95},
    profile.share_interval: visits(day=21, level=0.95),
    profile.band: visits(days=[7, 14], level=0.95),
    profile.quantile_interval: visits(p=0.5, level=0.95),
    profile.design_effect_by_day: {"left": LEFT, "right": RIGHT, "animal": ANIMAL, "never": YES},
    proportional_odds.proportional_odds: {
        "grade": GRADE, "covariates": X, "names": ["size"], "animal": np.arange(N), "weight": np.ones(N), "level": 0.95,
    },
    proportions.clopper_pearson: {"successes": 3, "total": 9, "level": 0.95},
    proportions.clustered_share: {
        "successes": YES, "totals": np.ones(N), "weight": np.ones(N), "level": 0.95,
    },
    proportions.binomial_limit: {"probability": 0.975, "totals": [10, 20], "target": 0.8},
    proportions.funnel_limits: {"target": 0.8, "totals": [10, 20], "level": 0.95},
    proportions.permutation_p: {"first": ([1, 0], [1, 1]), "second": ([1, 1], [2, 1]), "rng": rng()},
    recurrent.mean_cumulative: {
        "event_graft": [1, 1], "event_day": [2, 5], "graft": [1, 2], "end_day": [9, 9], "animal": [1, 1], "level": 0.95,
    },
    recurrent.phase_rates: {
        "event_graft": [1, 1], "event_day": [2, 5], "graft": [1, 2], "end_day": [9, 9], "animal": [1, 1], "level": 0.95,
    },
    recurrent.longest_gaps: {"event_graft": [1, 1], "event_day": [2, 5], "graft": [1, 2], "end_day": [9, 9]},
    restricted_mean.restricted_mean: visits(horizon=60, rng=rng(), animal=ANIMAL, draws=9, level=0.95),
    standardise.standardised_shares: {
        "outcome": YES, "group": GROUP, "cells": [np.repeat(["dog", "cat"], 20)], "animal": np.arange(N), "level": 0.95,
    },
    verdict.verdict: {
        "estimate": proportions.clopper_pearson(8, 10), "benchmark": 0.7, "margin": 0.1,
    },
    verdict.cases_for_half_width: {"share": 0.9, "half_width": 0.1, "level": 0.95},
}  # fmt: skip

MEASURED = {
    "left", "right", "day", "days", "first", "second", "values", "viable", "uncertain", "successes", "totals", "total",
    "outcome", "is_event", "cause", "covariates", "measurements", "groups", "table", "event_day", "end_day", "weight",
    "never", "horizon", "p", "probability", "target", "benchmark", "margin", "share", "half_width",
}  # fmt: skip
NAMED = {"animal", "group", "grade", "graft", "event_graft", "first_animal", "second_animal", "cells"}
NOT_NEGATIVE = {
    "left", "day", "days", "event_day", "end_day", "weight", "totals", "total", "successes", "horizon", "table",
    "cause", "half_width", "margin",
}  # fmt: skip
ROWS = MEASURED | NAMED | {"ratings"}


def spoilt(value: Any, fault: Any) -> Any:
    """The value with this at its last place; of several columns, in the last."""
    if isinstance(value, tuple) or (isinstance(value, list) and np.ndim(value[0]) and not np.isscalar(value[0][0])):
        return [*value[:-1], spoilt(value[-1], fault)]
    if isinstance(value, list) and np.ndim(value[0]):
        return [*value[:-1], spoilt(value[-1], fault)]
    array = np.array(value, dtype=object)
    array[(-1,) * array.ndim] = fault
    return array.tolist() if array.ndim else fault


def shorter(value: Any) -> Any:
    """The value without its last row; of several columns, the last of them."""
    if isinstance(value, tuple) or (isinstance(value, list) and np.ndim(value[0])):
        return [*value[:-1], value[-1][:-1]]
    return value[:-1]


def emptied(value: Any) -> Any:
    """The value without a row."""
    if isinstance(value, tuple) or (isinstance(value, list) and np.ndim(value[0])):
        return [[] for _ in value]
    return np.empty((0, *np.shape(value)[1:]))


def faults() -> Mapping[str, tuple[Callable, dict[str, Any]]]:
    """Every call with one thing wrong, by a name."""
    wrong: dict[str, tuple[Callable, dict[str, Any]]] = {}
    for call, right in CALLS.items():
        columns = [name for name in right if name in ROWS and np.ndim(right[name]) and name != "table"]
        for name, value in right.items():
            planted = {}
            if name in MEASURED:
                planted |= {"NaN": spoilt(value, float("nan"))}
                planted |= {"text": spoilt(value, "often"), "NA": spoilt(value, pd.NA)} if np.ndim(value) else {}
            if name in NAMED:
                planted |= {"None": spoilt(value, None), "NaN": spoilt(value, float("nan"))}
            if name in NOT_NEGATIVE:
                planted |= {"negative": spoilt(value, -1)}
            if name in columns and (len(columns) > 1 or "names" in right) and not is_two_samples(call, name):
                planted |= {"short": shorter(value)}
            if name == "level":
                planted |= {"95": 95, "0.05": 0.05, "1": 1.0, "NaN": float("nan")}
            wrong |= {f"{call.__name__}-{name}-{what}": (call, {**right, name: bad}) for what, bad in planted.items()}
        if columns:
            nothing = {name: emptied(right[name]) for name in columns}
            wrong[f"{call.__name__}-empty"] = (call, {**right, **nothing})
    return wrong


def is_two_samples(call: Callable, name: str) -> bool:
    """Columns whose length is free: two groups of unlike size, and days at which a curve is asked for."""
    two = {hodges_lehmann.hodges_lehmann, ordinal.superiority, kruskal.kruskal_wallis, kruskal.dunn_pairs}
    return (call in two and name in ("first", "second", "groups")) or name == "days"


FAULTS = faults()
MEANT = {"rating_table-empty", "binomial_limit-empty", "funnel_limits-empty"}  # nothing asked, nothing answered


@pytest.mark.parametrize("name", sorted(FAULTS.keys() - MEANT))
def test_fault_is_refused_in_words(name):
    call, arguments = FAULTS[name]
    with pytest.raises(AuditError) as refusal:
        call(**arguments)
    assert refusal.value.reason
    assert isinstance(refusal.value, ValueError)


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.__name__)
def test_the_same_call_without_a_fault_is_answered(call):
    assert call(**CALLS[call]) is not None


def test_every_public_statistic_is_tried():
    tried = {f"{call.__module__.rpartition('.')[2]}.{call.__name__}" for call in CALLS}
    # These take estimates, or curves and arrays that the functions above have checked.
    inner = {
        "proportions.newcombe_difference",
        "profile.profiled_share",
        "profile.profiled_band",
        "profile.profiled_quantile",
    }
    assert functions_that_judge() - tried - inner == set()


def test_animals_named_in_one_group_only_are_refused():
    with pytest.raises(AuditError, match="name them in both"):
        ordinal.superiority([1, 2, 3], [2, 3, 4], first_animal=[1, 1, 2])


def test_a_kind_of_number_changes_nothing():
    plain = npmle.npmle([0, 7, 14], [7, 14, 21]).mass.tolist()
    frame = pd.DataFrame({"left": [0, 7, 14], "right": [7, 14, 21]}, index=[9, 3, 5], dtype="Int64")
    assert npmle.npmle(frame["left"], frame["right"]).mass.tolist() == plain
    assert npmle.npmle((0, 7, 14), np.array([7, 14, 21], dtype="int8")).mass.tolist() == plain


def test_an_error_says_its_reason_and_its_advice():
    with pytest.raises(AuditError) as refusal:
        proportions.clustered_share([3], [2])
    assert refusal.value.reason == "row 0: 3 of 2 is not a share"
    assert refusal.value.advice == "check the two counts and their order"
    assert str(refusal.value) == f"{refusal.value.reason}; {refusal.value.advice}"
    assert isinstance(proportions.clopper_pearson(1, 2), Estimate)


@pytest.mark.parametrize(
    ("check", "inside", "outside"),
    [
        (checked.level, [0.51, 0.999], [0.5, 1.0, 95]),
        (checked.share, [0.001, 0.999], [0, 1]),
        (checked.a_day, [0, 1e6], [-1, np.inf]),
        (lambda value: checked.numbers([value], "percent", low=0, high=100), [0, 100], [-0.1, 100.1]),
        (lambda value: checked.days([value]), [0, 1e6], [-1, np.inf]),
        (lambda value: checked.truths([value], "outcome"), [0, 1], [-1, 0.5, 2]),
        (lambda value: checked.weights([value], 1), [0, 2.5], [-1, np.inf]),
        (checked.not_empty, [1, 0.5], [0]),
    ],
)
def test_the_ends_of_what_is_allowed(check, inside, outside):
    for value in inside:
        check(value)
    for value in outside:
        with pytest.raises(AuditError):
            check(value)


def test_the_first_faulty_row_is_named_with_its_value_and_the_limits():
    for high, limits in ((np.inf, "0 or above"), (100, "from 0 to 100")):
        with pytest.raises(AuditError, match=f"row 1: percent -3 is not {limits}"):
            checked.numbers([0, -3, -4], "percent", low=0, high=high)
    with pytest.raises(AuditError, match="left, right, cause differ in length: 2, 1, 2"):
        checked.same_length(left=[1, 2], right=[1], cause=[1, 1])
    for call in (checked.numbers, checked.names):
        with pytest.raises(AuditError, match=r"an array of shape \(1, 2\)"):
            call([[1, 2]], "grade")
    with pytest.raises(AuditError, match="some are text and some are numbers"):
        checked.names(np.array([1, "rex"], dtype=object), "animal")


def test_animals_are_numbered_by_their_names_and_rows_by_themselves():
    assert checked.animals(["rex", "luna", "rex"], 3).tolist() == [1, 0, 1]
    assert checked.animals(None, 3).tolist() == [0, 1, 2]
    assert checked.weights(None, 2).tolist() == [1, 1]


def test_a_design_names_the_first_cell_that_is_missing_and_columns_that_say_the_same():
    with pytest.raises(AuditError, match="row 1: no age"):
        covariates.design([[1, 2], [1, np.nan], [np.nan, 2]], ["area", "age"], 3)
    assert covariates.design([[3.0], [4.0]], ["area"], 2).tolist() == [[1, 3], [1, 4]]
    for column in ([0, 0, 0], [2, 4, 6], [5, 5, 5]):
        with pytest.raises(AuditError, match="the covariates area, age repeat one another"):
            covariates.refuse_repeats(np.column_stack((np.ones(3), [1, 2, 3], column)), ["area", "age"])
    covariates.refuse_repeats(np.column_stack((np.ones(3), [1, 2, 3], [1e-9, 3e-9, 2e-9])), ["area", "age"])
