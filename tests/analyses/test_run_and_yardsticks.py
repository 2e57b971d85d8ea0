"""All answers together: when the cases were loaded and the protocol frozen, and yardsticks beside our own figures."""

from datetime import date

import pandas as pd
import pytest

from audit.analyses.run import run_audit
from audit.protocol import read_protocol
from tests.planted import protocol_with, tallied

LOADS = pd.DataFrame(
    {
        "load_id": [1, 2],
        "loaded_on": pd.to_datetime(["2026-02-01", "2026-01-05"]),
        "fingerprint": ["first", "second"],
    }
)
DOG = {"species": "dog", "method_group": "mesh_graft", "status": "eligible"}


def frozen(on):
    protocol = read_protocol()
    return protocol if on is None else protocol.model_copy(update={"frozen": Frozen(on)})


class Frozen:
    """What `Audit.frozen_first` reads of a frozen protocol: the day."""

    def __init__(self, on):
        self.on = on


@pytest.mark.parametrize(("on", "is_first"), [(date(2026, 1, 5), True), (date(2026, 1, 6), False), (None, False)])
def test_the_protocol_was_frozen_no_later_than_the_first_load(on, is_first):
    with tallied(frozen(on), LOADS) as cases:
        audit = run_audit(cases)
    assert (audit.first_load, audit.fingerprints, audit.is_cohort) == (date(2026, 1, 5), ("first", "second"), True)
    assert audit.frozen_first == is_first


def test_nothing_loaded_and_nothing_asked():
    with tallied(protocol_with("protocol", series="outcome_selected")) as cases:
        audit = run_audit(cases)
    assert (audit.first_load, audit.fingerprints, audit.is_cohort) == (None, (), False)
    assert (audit.yardsticks.target, audit.yardsticks.published, audit.healing.overall) == ((), (), ())


def sticks(*, changes=(), gaps=4, **tallies):
    rows = [
        DOG | {"followed_to": 30, "healed_day": 25, "change_days": [3], "changes": n, "changes_by_7": gaps,
               "first_change_day": 3}
        for n in changes
    ]  # fmt: skip
    with tallied(bandage_tally=rows, **tallies) as cases:
        found = run_audit(cases).yardsticks
    return found, {stick.quantity: stick for stick in found.rules}


def test_rules_about_days_are_longer_or_shorter_and_counts_are_higher_or_lower():
    _, rules = sticks(changes=[20] * 9, gaps=1)
    gap, first, counted = (rules[name] for name in ("bandage_gap_early", "first_change", "bandage_changes"))
    # One change in the first week is a gap of 7 days, above 1 to 2; the first on day 3 is before day 4; 20 is above 15.
    assert (gap.own.value, gap.verdict.word, gap.theirs, gap.margin) == (7, "longer", (1, 2), 0.5)
    assert (first.own.value, first.verdict.word) == (3, "shorter")
    assert (counted.own.value, counted.verdict.word) == (20, "higher")
    assert (gap.kind, gap.differs, len(gap.cases)) == ("rule_of_thumb", "common practice, no source", 9)


@pytest.mark.parametrize(("number", "refused"), [(4, "too few cases"), (5, "")])
def test_five_cases_are_the_fewest_for_a_verdict(number, refused):
    _, rules = sticks(changes=[8] * number)
    assert rules["bandage_changes"].refused == refused
    assert (rules["bandage_changes"].verdict is None) == bool(refused)


@pytest.mark.parametrize(("unknown", "refused"), [(10, ""), (11, "more cases cannot be told than are known")])
def test_a_share_of_which_more_cannot_be_told_than_is_known_has_no_verdict(unknown, refused):
    taken = {"species": "dog", "method": "mesh_full", "method_group": "mesh_graft", "location": "pad",
             "is_primary": True, "threshold_pct": 75.0}  # fmt: skip
    rows = [
        taken | {"status": status, "status_each": status, "reason": reason, "weight": n}
        for status, reason, n in (("sure_yes", None, 1), ("sure_no", None, 9), ("cannot_tell", "not seen", unknown))
    ]
    found, rules = sticks(take_tally=rows)
    (target,) = found.target
    assert (target.theirs, target.theirs_point, target.own.numerator, len(target.unknown)) == (
        (0.8, 1.0),
        0.8,
        1,
        unknown,
    )
    assert (target.refused, target.verdict and target.verdict.word) == (refused, "lower" if not refused else None)
    assert rules["take"].refused == refused
    papers = [stick for stick in found.published if stick.quantity == "take"]
    assert papers
    for stick in papers:
        assert stick.verdict is None or stick.verdict.word in ("lower", "cannot tell")
        assert stick.refused == refused or stick.refused.startswith(("theirs is of", "range of times"))
