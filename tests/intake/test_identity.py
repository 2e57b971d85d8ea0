"""The key, the pseudonyms, and nothing that identifies in what is let in."""

import datetime as dt
import os
import stat

import pytest
from hypothesis import given
from hypothesis import strategies as st
from one_animal import KEY, case, check, day, found, together

from audit.dictionary import DERIVED, TABLES, table
from audit.errors import WorkbookError
from audit.intake import deidentify
from audit.intake.identity import pseudonym, read_or_make_key, same
from audit.store import open_store

NAMES = st.text(min_size=1, max_size=20)


def test_key_is_made_once_and_only_for_its_owner(tmp_path):
    path = tmp_path / "practice.key"
    before = os.umask(0)
    try:
        key = read_or_make_key(path)
    finally:
        os.umask(before)
    assert len(key) == 32
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    written = path.read_bytes()
    assert read_or_make_key(path) == key
    assert path.read_bytes() == written
    assert read_or_make_key(tmp_path / "other.key") != key


@pytest.mark.parametrize("damage", [lambda b: b"", lambda b: b[:-9], lambda b: b[5:], lambda b: b"\xff\xfe" + b,
                                    lambda b: b.replace(b"\n", b" ")])  # fmt: skip
def test_damaged_key_is_a_sentence_and_is_never_written_over(damage, tmp_path):
    path = tmp_path / "practice.key"
    read_or_make_key(path)
    damaged = damage(path.read_bytes())
    path.write_bytes(damaged)
    with pytest.raises(WorkbookError, match="restore it from its back-up"):
        read_or_make_key(path)
    assert path.read_bytes() == damaged


@given(NAMES, NAMES)
def test_pseudonyms_tell_the_same_apart_from_the_other(one, two):
    assert (pseudonym(KEY, "animal", one) == pseudonym(KEY, "animal", two)) == (same(one) == same(two))
    assert pseudonym(KEY, "animal", one) == pseudonym(KEY, "animal", f" {one} ")
    assert len({pseudonym(key, kind, one) for key in (KEY, bytes(32)) for kind in ("animal", "staff", "photo")}) == 6
    assert set(pseudonym(KEY, "photo", one)) <= set("0123456789abcdef")
    assert len(pseudonym(KEY, "photo", one)) == 12


def test_leading_zeros_tell_animals_apart():
    assert pseudonym(KEY, "animal", "0123") != pseudonym(KEY, "animal", "123")


def test_collision_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(deidentify, "pseudonym", lambda key, kind, value: f"{len(value):012x}")
    intake = check(together(case("one"), case("two")), tmp_path)
    assert "pseudonym_twice" in found(intake)
    assert intake.tables == {}


def identifying() -> dict:
    rows = case("Rex-4711")
    rows["reconstructions"][0] |= {"surgeon_code": "Dr-Quill", "branch_code": "Hill-street"}
    rows["visits"][0] |= {"assessor_code": "Nurse-Penn", "photo_code": "IMG-5521", "next_planned_date": day(13)}
    rows["scores"][0]["rater_code"] = "Nurse-Penn"
    return rows


def test_nothing_that_identifies_is_let_in(tmp_path):
    rows = identifying()
    intake = check(rows, tmp_path)
    assert intake.faults == ()
    calendar = {
        value for group in rows.values() for row in group for value in row.values() if isinstance(value, dt.date)
    }
    planted = {"rex-4711", "dr-quill", "hill-street", "nurse-penn", "img-5521"}
    planted |= {date.strftime(order) for date in calendar for order in ("%Y-%m-%d", "%d/%m/%Y", "%Y%m%d", "%d %B")}
    cells = [str(cell).casefold() for frame in intake.tables.values() for column in frame for cell in frame[column]]
    assert cells
    assert not [cell for cell in cells if any(word.casefold() in cell for word in planted)]
    assert "Rex" not in repr(intake)


def test_frames_say_what_the_rows_said_in_days(tmp_path):
    intake = check(identifying(), tmp_path)
    animal = pseudonym(KEY, "animal", "Rex-4711")
    assert intake.links == ((animal, "Rex-4711"),)
    assert intake.surgery == {f"{animal}-A1": day(0)}
    operation = intake.tables["reconstructions"].iloc[0]
    assert (operation["animal"], operation["surgery_month"], operation["running_order"], operation["clock_day"]) == (
        animal, "2024-05", 1, 0)  # fmt: skip
    assert list(intake.tables["visits"]["visit_day"]) == [10, 30]
    assert intake.tables["visits"]["next_planned_day"][0] == 13
    assert intake.tables["wounds"]["wound_day"][0] == -14
    assert intake.tables["complications"]["action"][0] == ["bandage_change", "drainage"]
    assert intake.tables["visits"]["assessor_code"][0] == intake.tables["scores"]["rater_code"][0]
    for name, frame in intake.tables.items():
        derived = [each.name for each in DERIVED.get(name, ())]
        assert list(frame) == [each.column for each in table(name).fields] + derived + ["absent"]


def test_absent_is_told_from_blank(tmp_path):
    rows = case()
    rows["visits"][0] |= {"epithelialised": "not assessable", "exudate": "Not recorded", "collar": None}
    visit = check(rows, tmp_path).tables["visits"].iloc[0]
    assert visit["absent"] == ["epithelialised=not_assessable", "exudate=not_recorded"]
    assert visit[["epithelialised", "exudate", "collar"]].isna().all()


def test_running_order_and_clock_of_several_operations(tmp_path):
    first, other = case("one"), case("two")
    second = {"operation_number": 2, "surgery_date": day(12)}
    first["reconstructions"].append(first["reconstructions"][0] | second)
    first["exits"][0] |= {"exit_reason": "re_grafted", "exit_date": day(12), "last_seen_date": day(12)}
    first["exits"].append(first["exits"][0] | {"operation_number": 2, "exit_reason": "lost_before_healing"})
    other["reconstructions"][0]["surgery_date"] = day(5)
    tables = check(together(other, first), tmp_path).tables
    operations = tables["reconstructions"].set_index(["animal", "operation"])[["running_order", "clock_day"]]
    one, two = pseudonym(KEY, "animal", "one"), pseudonym(KEY, "animal", "two")
    assert [tuple(operations.loc[key]) for key in ((one, 1), (two, 1), (one, 2))] == [(1, 0), (2, 0), (3, 12)]
    assert tables["wounds"].set_index("animal")["wound_day"][one] == -14


def test_operations_of_one_day_stand_in_the_order_of_their_codes(tmp_path):
    """Not in that of the rows or the patient numbers, which would tell who was who."""
    numbers = [f"N{number}" for number in range(6)]
    operations = check(together(*map(case, numbers)), tmp_path).tables["reconstructions"]
    by_place = operations.sort_values("running_order")["animal"]
    assert list(by_place) == sorted(pseudonym(KEY, "animal", number) for number in numbers)
    assert list(by_place) != [pseudonym(KEY, "animal", number) for number in numbers]


def test_order_of_rows_does_not_matter(tmp_path):
    rows = together(case("one"), case("two"))
    turned = {name: group[::-1] for name, group in rows.items()}
    assert check(rows, tmp_path).fingerprint == check(turned, tmp_path).fingerprint


def test_the_store_takes_what_the_door_lets_in(tmp_path):
    intake = check(identifying(), tmp_path)
    with open_store(":memory:", create=True) as store:
        changes = store.load(intake.tables, fingerprint=intake.fingerprint, on=dt.date(2024, 12, 1))
        again = store.load(check(identifying(), tmp_path).tables, fingerprint="", on=dt.date(2024, 12, 2))
    assert changes.touched == sum(len(intake.tables[each.name]) for each in TABLES)
    assert again.is_empty
