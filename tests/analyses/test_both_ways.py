"""Every answer of the audit from a practice's own store and from tallies alone: the same numbers, without the codes."""

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import date
from hashlib import sha256

import numpy as np
import pandas as pd
import pytest

from audit.analyses.run import run_audit
from audit.cases import Cases, from_tallies, never_stored
from audit.engine import queries
from audit.errors import StoreError
from audit.intake.check_workbook import check_workbook
from audit.protocol import read_protocol
from audit.results import Members
from audit.store import open_store
from reports.audit_report import SHOWN, audit_report
from synthetic_data.demo import PLANTED
from synthetic_data.practice import draw_plans, invent
from synthetic_data.workbook import write_workbook
from tests.planted import protocol_with

CODES = ("case_code", "case_codes")
OF_CASES = re.compile(r"\.healing\.seen|\.scores\.owners\[\d\]\.groups\[\d\]\.cases")
"""What is of single cases: what was seen of each on each day, and the case of each mark."""


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    """The tables of an invented practice: forty operations on 18 dogs and 8 cats, two on every other animal."""
    path = tmp_path_factory.mktemp("both-ways") / "practice.xlsx"
    plans = draw_plans(np.random.default_rng(3), 26, second_wound=0.5)
    write_workbook(invent(seed=3, plans=plans, planted=PLANTED), path)
    intake = check_workbook(path, key=bytes(32))
    assert not intake.errors
    return intake.tables


@pytest.fixture(scope="module", params=["first_per_animal", "every_reconstruction"])
def stored(request, tables):
    """The cases of a store by one unit, their audit, and the audit of their tallies without codes."""
    with open_store(":memory:") as store:
        store.load(tables, fingerprint="0" * 64, on=date(2026, 1, 1))
        with (
            store.under(protocol_with("analysis", unit=request.param, smallest_curve=5)) as cases,
            alone(cases, tallies_of(cases)) as pooled,
        ):
            yield cases, run_audit(cases), run_audit(pooled)


def tallies_of(cases: Cases) -> dict[str, pd.DataFrame]:
    """All tallies, without the codes of cases."""
    tallies = {name: cases.rows(name) for name in queries("tallies")}
    return {
        name: tally.assign(case_codes=[[] for _ in range(len(tally))]) if "case_codes" in tally else tally
        for name, tally in tallies.items()
    }


def alone(cases: Cases, tallies: dict[str, pd.DataFrame]) -> Cases:
    return from_tallies(tallies, cases.protocol, cases.period, cases.loads)


def split(tally: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """One row a case, or an examination, in any order."""
    parts = tally
    for count in {"weight", "examinations"} & set(tally):
        parts = tally.loc[tally.index.repeat(tally[count])].assign(**{count: 1})
    if "complications" in tally and "counts" in tally:  # further complications of a case stand in its first row
        is_first = ~parts.index.duplicated()
        parts = parts.assign(complications=np.where(is_first, 1 + parts["complications"] - tally["weight"], 1))
    return parts.sample(frac=1, random_state=rng).reset_index(drop=True)


def values_of(answer: object, path: str = "") -> Iterator[tuple[str, object]]:
    """Every number and word of an answer by its place in it; of cases only how many they are."""
    if OF_CASES.fullmatch(path):
        return
    if isinstance(answer, Members):
        yield path, len(answer)
    elif isinstance(answer, pd.DataFrame):
        for column in answer.columns.difference(CODES):
            yield from ((f"{path}.{column}[{i}]", value) for i, value in enumerate(answer[column]))
    elif is_dataclass(answer):
        for field in fields(answer):
            yield from values_of(getattr(answer, field.name), f"{path}.{field.name}")
    elif isinstance(answer, dict):
        for key, value in answer.items():
            yield from values_of(value, f"{path}[{key}]")
    elif isinstance(answer, tuple | list | np.ndarray) and np.ndim(np.asarray(answer, dtype=object)):
        for i, value in enumerate(answer):
            yield from values_of(value, f"{path}[{i}]")
    else:
        yield path, answer


def differences(one: object, other: object) -> list[tuple[str, object, object]]:
    """The places at which two answers differ by more than rounding, or that only one of them has."""
    first, second = dict(values_of(one)), dict(values_of(other))
    assert len(first) > 1000

    def differ(a: object, b: object) -> bool:
        if isinstance(a, bool | np.bool_ | int | float | np.number) and isinstance(
            b, int | float | np.number | np.bool_
        ):
            return float(a) != pytest.approx(float(b), rel=1e-6, abs=1e-9, nan_ok=True)
        return not pd.isna(b) if pd.isna(a) else pd.isna(b) or a != b

    return [
        (path, first.get(path), second.get(path))
        for path in dict.fromkeys([*first, *second])
        if path not in first or path not in second or differ(first[path], second[path])
    ]


def test_the_practice_that_is_compared_has_a_value_in_every_column_of_every_tally(stored):
    cases, _, _ = stored
    tallies = {name: cases.rows(name) for name in queries("tallies")}
    blank = {(name, column) for name, tally in tallies.items() for column in tally if tally[column].isna().all()}
    # Whether an animal has several cases, and whether one is left out, hangs on the unit; no invented wound reopens.
    unlike = {each for each in blank if each[1] not in ("animal", "reason")} - {("healing_tally", "reopened_day")}
    assert not unlike, f"blank everywhere, so nothing is compared; fill it in synthetic_data/: {sorted(unlike)}"


def test_tallies_without_codes_give_the_numbers_of_the_store(stored):
    _, audit, pooled = stored
    assert differences(audit, pooled) == []
    assert not {*pooled.healing.overall[0].codes, *pooled.wound_closure.cases["case_code"].dropna()}


def test_neither_how_alike_cases_are_counted_nor_the_order_of_rows_moves_a_number(stored):
    cases, audit, _ = stored
    rng = np.random.default_rng(1)
    with alone(cases, {name: split(tally, rng) for name, tally in tallies_of(cases).items()}) as pooled:
        assert differences(audit, run_audit(pooled)) == []


def test_what_animals_are_called_moves_no_number(stored, tables):
    cases, audit, _ = stored

    def another(name: str) -> str:
        return sha256(name.encode()).hexdigest()[:12]

    renamed = {name: frame.assign(animal=frame["animal"].map(another)) for name, frame in tables.items()}
    with never_stored(renamed, cases.protocol) as others:
        loads = {"first_load": audit.first_load, "fingerprints": audit.fingerprints}
        assert differences(audit, replace(run_audit(others), **loads)) == []


def test_tallies_without_codes_make_a_report(stored):
    _, audit, pooled = stored
    report, without_codes = audit_report(audit), audit_report(pooled)
    assert report.headlines == without_codes.headlines
    sentences, same = ([s.sentences for s in each.sections] for each in (report, without_codes))
    assert sentences == same
    # "seen" is of a series whose cases were chosen for how they ended
    assert {section.id for section in (*report.sections, *report.definitions)} == SHOWN.keys() - {"seen"}


def empty_tallies() -> dict[str, pd.DataFrame]:
    with never_stored({}, read_protocol()) as cases:
        return {name: cases.rows(name).iloc[:0] for name in queries("tallies")}


def test_the_marts_behind_tallies_are_empty_with_the_columns_they_have(stored):
    cases, _, _ = stored
    with alone(cases, tallies_of(cases)) as pooled:
        for name in queries("marts"):
            assert pooled.rows(name).dtypes.equals(cases.rows(name).dtypes)
            assert pooled.rows(name).empty


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        (
            {"flow_tally": None},
            r"missing tallies \['flow_tally'\], unknown tallies \[\]; give one of each: bandage_tally, ",
        ),
        ({"take": pd.DataFrame()}, r"missing tallies \[\], unknown tallies \['take'\]"),
        (
            {"examination_reason_tally": pd.DataFrame({"why": ["x"]})},
            r"examination_reason_tally: missing columns \['species', 'method_",
        ),
        (
            {
                "examination_reason_tally": pd.DataFrame(
                    {"species": ["dog"], "method_group": "flap", "why": "x", "examinations": ["a"]}
                )
            },
            "the rows of examination_reason_tally cannot be read: Conversion Error",
        ),
    ],
)
def test_other_tallies_than_the_projects_are_refused_by_name(changes, fault):
    tallies = {name: frame for name, frame in (empty_tallies() | changes).items() if frame is not None}
    with pytest.raises(StoreError, match=fault):
        from_tallies(tallies, read_protocol())
