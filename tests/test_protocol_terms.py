"""No term of the protocol is for show: each, given another value, changes a row, an answer or a printed word."""

import types
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from typing import get_args

import pytest
from pydantic import BaseModel

from audit.analyses.agreement import agreement
from audit.analyses.bandages import bandages
from audit.analyses.healing import healing
from audit.analyses.own_values import Answers
from audit.analyses.run import Audit, run_audit
from audit.analyses.scores import scores
from audit.analyses.take import take
from audit.analyses.yardsticks import yardsticks as held_against
from audit.method_log import method_log
from audit.protocol import Frozen, Protocol, read_protocol
from audit.store import Store, open_store
from reports.audit_report import audit_report
from reports.write_up.evidence import Evidence
from reports.write_up.front import abstract
from reports.write_up.methods import methods
from tests.planted import plant, plant_case

BASE = read_protocol().model_copy(update={"frozen": Frozen(on=date(2024, 1, 2), sha256="0" * 64)})
ANIMALS = 14


def animal(number: int) -> str:
    return f"{number:012x}"


@pytest.fixture(scope="module")
def store() -> Iterator[Store]:
    """Fourteen dogs with a graft each, which differ in take, healing and grades; the first was grafted twice."""
    with open_store(":memory:") as opened:
        for number in range(ANIMALS):
            plant_dog(opened, animal(number), number)
        plant(opened, "reconstructions", animal=animal(0), operation=2, running_order=2, clock_day=60,
              surgery_month="2024-07")  # fmt: skip
        plant(opened, "visits", animal=animal(0), operation=2, visit_day=8, epithelialised="no")
        yield opened


def plant_dog(store: Store, dog: str, number: int) -> None:
    plant_case(store, dog)
    for day, viable in ((3, 100), (8, 70 + 2 * number), (13, 60 + 2 * number)):
        plant(store, "visits", animal=dog, visit_day=day + number % 3, epithelialised="no", viable_pct=viable,
              lost_pct=100 - viable, bandage_changed=True)  # fmt: skip
    plant(store, "visits", animal=dog, visit_day=26 + number % 3, epithelialised="yes", bandage_changed=False)
    plant(store, "visits", animal=dog, visit_day=40, epithelialised="yes")
    plant(store, "donor_sites", animal=dog, suture_out_day=6 + number % 6)
    plant(store, "exits", animal=dog, exit_day=150, last_seen_day=150)
    plant(store, "complications", animal=dog, first_seen_day=4 + 3 * number)
    for rater in range(2):
        plant(store, "scores", animal=dog, rater_code=animal(rater), value=(number + rater * (number % 2)) % 5,
              photo_day=95 + 10 * (number % 3))  # fmt: skip


@pytest.fixture(scope="module")
def audit(store) -> Audit:
    return run_audit(store.under(BASE))


@cache
def mart(name):
    def rows(store, audit, protocol):
        return store.under(protocol).rows(name).to_csv()

    return rows


@cache
def answer(ask):
    def asked(store, audit, protocol):
        return repr(ask(store.under(protocol)))

    return asked


def later_period(store, audit, protocol):
    """The cases of a period in which the second operation of the first dog falls, but not its first one."""
    return store.under(protocol, protocol.period.model_copy(update={"start": "2024-06"})).rows("case_list").to_csv()


def yardsticks(store, audit, protocol):
    own = Answers(audit.take, audit.healing, audit.complications, audit.donor, audit.bandages)
    return repr(held_against(own, protocol))


def report(store, audit, protocol):
    """Every printed word but the list of all terms, which shows any term, whether or not it does anything."""
    printed = audit_report(replace(audit, protocol=protocol, period=protocol.period))
    definitions = [
        replace(part, tables=[t for t in part.tables if t.id != "protocol-terms"]) for part in printed.definitions
    ]
    return repr(replace(printed, definitions=definitions))


def manuscript(store, audit, protocol):
    changed = replace(audit, protocol=protocol, period=protocol.period)
    found = Evidence(changed, (), method_log(changed), ())
    return repr((abstract(found), methods(found)))


# term: another value, and where it must show
TERMS = {
    "protocol.name": ("Other name", report),
    "protocol.version": (2, report),
    "protocol.purpose": ("cohort", manuscript),
    "protocol.series": ("outcome_selected", report),
    "protocol.question": ("Do they heal?", report),
    "protocol.criterion": ("All alive", yardsticks),
    "protocol.target_pct": (70, yardsticks),
    "protocol.target_source": ("published", yardsticks),
    "protocol.case_finding": ("theatre_list", report),
    "protocol.eligible": (("dog",), manuscript),
    "protocol.not_eligible": (("cat",), manuscript),
    "protocol.ethics": ("approved", manuscript),
    "protocol.ethics_reference": ("17/2024", manuscript),
    "period.start": ("2024-06", mart("case_list")),
    "period.end": ("2024-04", mart("case_list")),
    "period.data_lock": (date(2100, 1, 31), manuscript),
    "analysis.unit": ("every_reconstruction", mart("case_list")),
    "analysis.first_operation": ("in_period", later_period),
    "analysis.primary_outcome": ("healed", yardsticks),
    "analysis.level": (0.9, answer(take)),
    "analysis.seed": (1, answer(take)),
    "analysis.smallest_percentage": (15, report),
    "analysis.smallest_curve": (15, answer(healing)),
    "analysis.smallest_photographs": (5, answer(agreement)),
    "take.day": (13, mart("take")),
    "take.from_day": (9, mart("take")),
    "take.to_day": (11, mart("take")),
    "take.threshold_pct": (80, mart("take")),
    "take.also_pct": ((60,), mart("take")),
    "healing.days": ((30,), mart("healing_by_day")),
    "healing.horizon": (60, answer(healing)),
    "healing.confirm_after": (20, mart("healing")),
    "healing.question": ("wound", mart("healing")),
    "complications.by_day": (10, mart("complication_status")),
    "hair.from_day": (100, mart("score")),
    "hair.to_day": (100, mart("score")),
    "hair.good_grade": (2, answer(scores)),
    "donor.sutures_from": (8, mart("donor")),
    "donor.sutures_to": (8, mart("donor")),
    "bandage.phases": ((5, 14, 21), answer(bandages)),
    "bandage.longest_gap": ((1, 4, 7), answer(bandages)),
    "rule_of_thumb.name": ("Healed soon", yardsticks),
    "rule_of_thumb.quantity": ("sutures_out", yardsticks),
    "rule_of_thumb.day": (42, yardsticks),
    "rule_of_thumb.low": (0.6, yardsticks),
    "rule_of_thumb.high": (0.9, yardsticks),
    "rule_of_thumb.margin": (0.1, yardsticks),
    "rule_of_thumb.says": ("healed by then", yardsticks),
    "frozen.on": (date(2024, 1, 3), report),
    "frozen.sha256": ("1" * 64, report),
}


def leaves(model: type[BaseModel], above: str = "") -> Iterator[str]:
    """Every term, by its place; a part that may be absent, or stand several times, once."""
    for name, field in model.model_fields.items():
        kinds = [field.annotation, *get_args(field.annotation)]
        inner = [kind for kind in kinds if isinstance(kind, type) and not isinstance(kind, types.GenericAlias)]
        inner = [kind for kind in inner if issubclass(kind, BaseModel)]
        if inner:
            yield from leaves(inner[0], f"{above}{name}.")
        else:
            yield above + name


def changed(term: str, value: object) -> Protocol:
    """The base protocol with another value of the term: of its first rule, where it is a rule's."""
    part, name = term.split(".")
    content = BASE.model_dump()
    (content[part][0] if part == "rule_of_thumb" else content[part])[name] = value
    return Protocol.model_validate(content)


def test_every_term_is_tried():
    assert set(leaves(Protocol)) == set(TERMS)


@pytest.fixture(scope="module")
def unchanged(store, audit):
    """What every place shows under the base protocol; asked twice, it shows the same."""
    places = dict.fromkeys(where for _, where in TERMS.values())
    shown = {where: where(store, audit, BASE) for where in places}
    assert shown == {where: where(store, audit, BASE) for where in places}
    return shown


@pytest.mark.parametrize("term", TERMS)
def test_another_value_of_a_term_shows_where_it_should(term, store, audit, unchanged):
    value, where = TERMS[term]
    assert where(store, audit, changed(term, value)) != unchanged[where]
