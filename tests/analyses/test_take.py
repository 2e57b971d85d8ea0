"""Take by species, location and method, and what chance alone would do, by hand."""

from math import comb

import pytest

from audit.analyses.take import take
from tests.planted import tallied

DOG = {"species": "dog", "method": "mesh_full", "method_group": "mesh_graft", "location": "distal_limb",
       "threshold_pct": 75.0, "is_primary": True}  # fmt: skip


def answered(status, weight, viable, **more):
    return DOG | {"status": status, "status_each": status, "viable_pct": viable, "weight": weight} | more


def test_shares_with_their_reasons_and_the_loss_of_the_surface():
    rows = [
        answered("sure_yes", 8, 95.0, loss_depth="epidermal_only"),
        answered("sure_yes", 8, 100.0, location="pad"),
        answered("sure_yes", 8, 80.0, uncertain_pct=10.0),
        answered("sure_no", 6, 20.0, loss_depth="epidermal_only"),
        answered("cannot_tell", 3, None, reason="not seen"),
        answered("cannot_tell", 1, 50.0, reason="doubtful part"),
        answered("excluded", 5, 90.0, reason="another", status_each="sure_yes"),
        answered("sure_yes", 30, 60.0, threshold_pct=50.0, is_primary=False),
        answered("sure_yes", 12, 90.0, species="cat"),
        answered("sure_no", 3, 10.0, species="cat"),
    ]
    with tallied(take_tally=rows) as cases:
        answer = take(cases)
    dogs, cats = answer.overall
    assert (dogs.species, len(dogs.cases.sure_yes), dogs.cases.known, dogs.cases.asked) == ("dog", 24, 30, 34)
    assert dogs.reasons == (("not seen", 3), ("doubtful part", 1))
    assert dogs.cases.bounds == (24 / 34, 28 / 34)
    assert (dogs.share.estimate.value, cats.share.estimate.value) == (0.8, 0.8)
    assert [(s, len(surface), len(took)) for s, surface, took in answer.surface_only] == [
        ("dog", 8, 24),
        ("cat", 0, 12),
    ]
    assert [(g.species, len(g.cases.sure_yes)) for g in answer.every_graft] == [("dog", 29), ("cat", 12)]
    assert [(pct, [len(g.cases.sure_yes) for g in groups]) for pct, groups in answer.other_thresholds] == [
        (50.0, [30]), (75.0, [24, 12]),
    ]  # fmt: skip
    assert [(g.species, g.group) for g in answer.by_location] == [
        ("dog", "distal_limb"), ("dog", "pad"), ("cat", "distal_limb"),
    ]  # fmt: skip
    assert (len(answer.values), answer.question) == (31 + 15, "take of 75 % or more")
    assert [(species, what) for species, what, _ in answer.pooled] == [("dog", "location")]
    assert answer.species.difference.value == pytest.approx(0.0)
    assert answer.species.refused == ""


def binomial(n, k, p):
    return sum(comb(n, j) * p**j * (1 - p) ** (n - j) for j in range(k + 1))


def test_limits_of_chance_hold_what_they_say():
    # Eight of ten on the pad among 24 of 40 dogs: of ten with 0.6 each, two to nine hold at least 95 in 100.
    rows = [answered("sure_yes", 16, 90.0), answered("sure_no", 14, 10.0),
            answered("sure_yes", 8, 90.0, location="pad"), answered("sure_no", 2, 10.0, location="pad"),
            answered("sure_yes", 9, 90.0, species="cat")]  # fmt: skip
    with tallied(take_tally=rows) as cases:
        answer = take(cases)
    limits = {(what, c.species, c.group): c for what, c in answer.chance}
    assert {key[:2] for key in limits} == {("location", "dog")}
    pad = limits["location", "dog", "pad"]
    assert (pad.share, pad.known, pad.overall) == (0.8, 10, 0.6)
    for (low, high), level in ((pad.usual, 0.95), (pad.outer, 0.998)):
        within = binomial(10, round(10 * high), 0.6) - binomial(10, round(10 * low) - 1, 0.6)
        assert within >= level
    assert not pad.is_outside
