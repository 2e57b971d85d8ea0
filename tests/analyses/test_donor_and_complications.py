"""Donor sites and complications from planted tallies."""

import pytest

from audit.analyses.complications import complications
from audit.analyses.donor import donor
from tests.planted import tallied

SITE = {"species": "dog", "donor": 1, "complications": 0, "status": "sure_yes"}


def test_donor_sites_and_the_day_by_which_half_had_healed():
    rows = [
        SITE | {"healed_left": 5, "healed_right": 9, "weight": 4},
        SITE | {"healed_left": 20, "healed_right": 30, "status": "sure_no", "complications": 2, "weight": 2},
        SITE | {"healed_left": 14, "complications": 1, "case_codes": ["a"]},
        SITE | {"healed_right": 9, "weight": 2},
        SITE | {"status": "cannot_tell", "reason": "day not recorded", "weight": 3},
        SITE | {"species": "cat"},
    ]
    with tallied(donor_tally=rows) as cases:
        answer = donor(cases)
    dogs, cats = answer.sutures
    assert (answer.sutures_from, answer.sutures_to, dogs.cases.question) == (7, 10, "sutures out on day 7 to 10")
    assert (len(dogs.cases.sure_yes), dogs.cases.known, len(dogs.cases.cannot_tell), cats.cases.known) == (7, 9, 3, 1)
    ((species, watched, median), (_, of_cats, none)) = answer.healed
    assert (species, watched, of_cats, none) == ("dog", 9, 0, None)
    assert (median.value, median.value_to) == (5, 9)
    assert [(s, len(sites)) for s, sites in answer.with_complication] == [("dog", 3), ("cat", 0)]
    assert len(answer.sites) == 13


ASKED = {"question": "any", "species": "dog", "method_group": "flap", "is_overridden": False}


@pytest.fixture(scope="module")
def harmed():
    status = [
        ASKED
        | {"status": "sure_yes", "worst_grade": "major", "weight": 2, "is_overridden": True, "case_codes": ["a", "b"]},
        ASKED | {"status": "sure_yes", "weight": 1},
        ASKED | {"status": "sure_no", "weight": 5},
        ASKED | {"status": "cannot_tell", "reason": "not followed to day 30", "weight": 3},
        ASKED | {"status": "excluded", "reason": "planned, then not done", "weight": 4, "is_overridden": True},
        ASKED | {"method_group": "mesh_graft", "status": "sure_no"},
        ASKED | {"question": "major_or_worse", "status": "sure_yes", "weight": 2},
        ASKED | {"question": "major_or_worse", "status": "sure_no", "weight": 7},
    ]  # fmt: skip
    kind = {"species": "dog", "complication_group": "fluid", "complication": "seroma", "grade": "minor", "counts": True}
    kinds = [
        kind | {"complications": 3, "weight": 2, "case_codes": ["a", "b"]},
        kind | {"complications": 1, "weight": 1, "case_codes": ["c"]},
        kind | {"grade": None, "complications": 1},
        kind | {"complication": "contracture", "counts": False, "complications": 4, "weight": 3},
    ]
    with tallied(complication_tally=status, complication_kind_tally=kinds) as cases:
        return complications(cases)


def test_cases_by_question_and_method(harmed):
    overall = dict(harmed.overall)
    (dogs,) = overall["any"]
    assert (harmed.by_day, len(dogs.cases.sure_yes), dogs.cases.known, dogs.cases.question) == (
        30,
        3,
        9,
        "any by day 30",
    )
    assert dogs.reasons == (("not followed to day 30", 3),)
    assert [(g.group, len(g.cases.sure_yes), g.cases.asked) for g in harmed.by_method] == [
        ("flap", 3, 11), ("mesh_graft", 0, 1),
    ]  # fmt: skip
    ((major),) = harmed.major_by_method
    assert (len(major.cases.sure_yes), major.cases.known) == (2, 9)
    assert overall["re_operated"] == ()
    assert tuple(harmed.overridden) == ("a", "b")


def test_kinds_are_cases_and_the_worst_grade_is_said(harmed):
    assert harmed.kinds[["complication", "cases", "case_codes"]].values.tolist() == [
        ["seroma", 3, ("a", "b", "c")], ["seroma", 1, ()],
    ]  # fmt: skip
    assert harmed.kinds["grade"].isna().tolist() == [False, True]
    assert harmed.not_counted == 4
    assert harmed.worst.values.tolist() == [
        ["dog", "flap", "cannot tell", 3], ["dog", "flap", "grade not known", 1], ["dog", "flap", "major", 2],
        ["dog", "flap", "none", 5], ["dog", "mesh_graft", "none", 1],
    ]  # fmt: skip
