"""Our own values beside outside ones, and printed shares, by hand."""

from dataclasses import replace
from math import nan
from types import SimpleNamespace

import numpy as np
import pytest

from audit.analyses.bandages import bandages
from audit.analyses.own_values import Answers, counterparts, own_values
from audit.analyses.owners import owner_marks
from audit.analyses.published import published_figures
from audit.results import members
from tests.planted import tallied


def test_a_printed_median_has_no_share_and_a_printed_count_has():
    figure = replace(published_figures()[0], numerator=3, denominator=10)
    assert (figure.share(0.95).value, figure.share(0.95).denominator) == (0.3, 10)
    assert replace(figure, numerator=None).share(0.95) is None


def curve():
    band = SimpleNamespace(
        days=np.array([20, 21]), value=np.array([0.4, 0.5]), value_to=np.array([0.6, 0.7]), low=np.array([0.1, 0.2]),
        high=np.array([0.8, 0.9]), level=0.95, method="a band",
    )  # fmt: skip
    return SimpleNamespace(
        species="dog", group="flap", shares=(), codes=members("a"), animals=1, median=None, band=band
    )


@pytest.mark.parametrize(
    ("day", "ends"), [(20, (0.4, 0.6, 0.1, 0.8)), (21, (0.5, 0.7, 0.2, 0.9)), (22, None), (nan, None)]
)
def test_our_share_by_the_day_by_which_half_of_theirs_had_healed(day, ends):
    healing = SimpleNamespace(by_method=(curve(),), overall=(curve(),))
    figure = replace(published_figures()[0], quantity="median_days", species="both", method_group="flap", value=day)
    (own,) = counterparts(figure, Answers(None, healing, None, None, None))
    share = own.by_their_median
    assert (share and (share.value, share.value_to, share.low, share.high)) == ends
    assert own.cases == ("a",)


def test_a_day_that_the_protocol_does_not_ask_about_has_no_value():
    healing = SimpleNamespace(overall=(curve(),))
    (own,) = own_values("healed_by", 33, Answers(None, healing, None, None, None))
    assert (own.species, own.estimate, own.definition[:24]) == ("dog", None, "day 33 is not among the ")


def test_an_owner_without_a_mark_has_no_group():
    row = {
        "item": "look_owner",
        "species": "dog",
        "method_group": "flap",
        "status": "not_scored",
        "reason": "no rating",
    }
    with tallied(score_tally=[row]) as cases:
        (dogs,) = owner_marks(cases.rows("score_tally"), level=0.95)
    assert (dogs.asked, dogs.groups, dogs.shifts) == (1, (), ())


def test_a_change_after_healing_ends_no_wait():
    row = {"species": "dog", "method_group": "flap", "status": "eligible", "followed_to": 20, "healed_day": 5,
           "change_days": [2, 6]}  # fmt: skip
    with tallied(bandage_tally=[row]) as cases:
        early, *_ = bandages(cases).waits
    assert early.longest == 3
