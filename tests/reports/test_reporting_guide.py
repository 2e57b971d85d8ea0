"""The reporting-guide table: every item, four ways to stand, and no verdict on the paper."""

import re
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest
from test_limitations import about, audit_of

from audit.analyses.agreement import ItemAgreement
from audit.analyses.run import Audit
from audit.results import Estimate
from reports.write_up.reporting_guide import AUTHOR, CONDITIONS, PLACES, catalogue, guide_table

EVERYWHERE = {place: f"the place of {place}" for place in PLACES}
STANDS = re.compile(rf"found at .+|drafted at .+, needs your words|{AUTHOR}|not applicable because .+")
# Sub-items of the published table for 1 to 7, where it was read; from memory after that.
SUBITEMS = {
    1: "ab", 2: "", 3: "ab", 4: "", 5: "ab", 6: "abcd", 7: "abc", 8: "abcd", 9: "", 10: "abc", 11: "", 12: "abcde",
    13: "abc", 14: "abc", 15: "abc", 16: "abc", 17: "", 18: "", 19: "", 20: "", 21: "", 22: "abcde",
}  # fmt: skip


def stands(audit: Audit, places: dict[str, str] = EVERYWHERE) -> dict[str, str]:
    """Where each item stands."""
    return {row[0]: row[3] for row in guide_table(places, audit.protocol, audit).rows}


def test_every_item_is_asked_once_and_stands_one_of_four_ways():
    table = guide_table(EVERYWHERE, audit_of("one animal").protocol, audit_of("one animal"))
    asked = [row[0] for row in table.rows]
    assert len(set(asked)) == len(asked)
    wanted = {f"STROBE-Vet {item}{letter}" for item, letters in SUBITEMS.items() for letter in letters or [""]}
    assert {item for item in asked if item.startswith("STROBE-Vet")} == wanted
    assert not [row for row in table.rows if not STANDS.fullmatch(row[3])]


@pytest.mark.parametrize("name", ["one animal", "every outcome unknown", "clipped hair"])
def test_the_table_judges_nothing(name):
    audit = audit_of(name)
    table = guide_table(EVERYWHERE, audit.protocol, audit)
    text = " ".join([table.title, *table.notes, *(cell for row in table.rows for cell in row)])
    text += (files("reports.write_up") / "reporting_guide.toml").read_text("utf-8")
    assert "complian" not in text.casefold()
    assert "the journal has a form of its own" in table.notes[0]


def test_items_name_places_and_conditions_that_there_are():
    for item in catalogue()["item"]:
        assert set(item.get("places", ())) <= set(PLACES)
        assert set(item.get("unless", ())) <= set(CONDITIONS)
        assert item["checked"] in catalogue()["checked"]
        assert ("reason" in item) == (item["state"] == "never")
        assert bool(item.get("places")) == (item["state"] in ("found", "drafted"))


def test_places_are_named_once_each_and_an_absent_one_is_left_to_the_author():
    audit = audit_of("one animal")
    assert stands(audit, {"take": "Table 2", "healing": "Table 2"})["STROBE-Vet 15a"] == "found at Table 2"
    assert stands(audit, {"take": "Table 2", "scores": "Table 4"})["STROBE-Vet 15a"] == "found at Table 2 and Table 4"
    assert stands(audit, {"design": "Methods"})["STROBE-Vet 5a"] == AUTHOR
    assert stands(audit, {})["SAMPL survival"] == "not applicable because the paper reports no time to healing"
    with pytest.raises(ValueError, match="tables: no place"):
        stands(audit, {"tables": "Table 1"})


def test_what_was_not_done_does_not_apply():
    found = stands(audit_of("one animal"))
    assert found["STROBE-Vet 6d"] == "not applicable because no case was matched to another"
    assert found["SAMPL regression"] == "not applicable because no regression model was fitted"
    assert found["SAMPL tests"] == "not applicable because no hypothesis was tested"
    assert found["Added here agreement"] == "not applicable because no photograph was rated by two raters"
    assert found["STROBE-Vet 14c"].startswith("found at")
    assert (
        stands(audit_of("every outcome unknown"))["SAMPL bayesian"]
        == "not applicable because no Bayesian method was used"
    )


def test_what_was_done_is_found():
    audit = audit_of("clipped hair")
    ratio = Estimate(
        quantity="time ratio",
        group="wound area doubled",
        value=1.2,
        value_to=1.2,
        low=0.9,
        high=1.6,
        level=0.95,
        method="made up here",
        unit="animals",
    )
    fitted, *others = audit.factors.models
    models = (replace(fitted, ratios=(ratio,), refused=""), *others)
    twice = ItemAgreement(
        item="hair",
        photographs=4,
        raters=2,
        exact=3,
        pairs=4,
        table=np.eye(5, dtype=int),
        alpha=None,
        ac2=None,
        refused="too few photographs",
        repeats=(0, 0),
    )
    found = stands(replace(audit, factors=replace(audit.factors, models=models), agreement=(twice,)))
    assert found["SAMPL regression"] == "found at the place of factors"
    assert found["STROBE-Vet 16c"].startswith("found at")
    assert found["Added here agreement"] == "found at the place of agreement"


def test_refused_models_are_named_with_their_reason():
    audit = audit_of("all grafts took")
    refused = [model for model in audit.factors.models if model.refused]
    note = next(note for note in guide_table({}, audit.protocol, audit).notes if note.startswith("Models"))
    assert refused
    assert all(f"{model.outcome} in dogs ({model.refused})" in note for model in refused)


def test_series_chosen_for_its_outcome_has_no_risks():
    audit = about(audit_of("all grafts took"), series="outcome_selected")
    found, notes = stands(audit), guide_table({}, audit.protocol, audit).notes
    for item in ("STROBE-Vet 15b", "STROBE-Vet 16a", "SAMPL risks", "SAMPL survival", "SAMPL regression"):
        assert found[item].startswith("not applicable because cases were chosen for how they ended")
    assert any(note.startswith("STROBE-Vet was written for cohort") for note in notes)


def test_notes_say_how_each_item_was_checked():
    audit = audit_of("one animal")
    notes = guide_table({}, audit.protocol, audit).notes
    for item in catalogue()["item"]:
        words = catalogue()["checked"][item["checked"]]
        named = [note for note in notes if note.startswith(item["guide"]) and note.endswith(f": {words}.")]
        assert re.search(rf"\b{re.escape(item['id'])}\b", " ".join(named))
    assert "Sargeant JM" in notes[-1]
    assert "Lang TA, Altman DG" in notes[-1]
