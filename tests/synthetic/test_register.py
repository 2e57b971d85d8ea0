"""The invented register: its files have the columns of the store, and every value lies within the dictionary."""

import duckdb
import pandas as pd
import pytest

from audit import dictionary
from tests.benchmarks.register import write_register

REASONS = {"not_recorded", "not_applicable", "not_assessable", "refused"}


@pytest.fixture(scope="module")
def frames(tmp_path_factory):
    files = write_register(tmp_path_factory.mktemp("register"), reconstructions=2000)
    return {name: duckdb.read_parquet(str(path)).df() for name, path in files.items()}


@pytest.mark.parametrize("table", dictionary.TABLES, ids=lambda table: table.name)
def test_columns_keys_and_values(frames, table):
    frame = frames[table.name]
    derived = [extra.name for extra in dictionary.DERIVED.get(table.name, ())]
    assert list(frame.columns) == [*(field.column for field in table.fields), *derived, "absent"]
    assert not frame.duplicated(list(table.key_columns)).any()
    for field in table.fields:
        values = frame[field.column].dropna()
        assert not field.core or field.kind in ("whole", "number", "date") or len(values) == len(frame), field.name
        if field.kind == "codes":
            values = values.explode()
        if field.kind in ("code", "codes"):
            assert set(values) <= set(field.words), field.name
        elif field.kind in ("whole", "number") or (field.kind == "date" and field.column != "surgery_month"):
            assert values.between(field.low, field.high).all(), field.name
    for words in frame["absent"]:
        for word in words:
            name, reason = word.split("=")
            assert table[name].name == name
            assert reason in REASONS


def test_rows_hang_together(frames):
    key = ["animal", "wound", "operation"]
    operations = frames["reconstructions"]
    assert len(operations) == 2000
    assert operations["animal"].nunique() == 1600
    assert set(operations["animal"]) == set(frames["animals"]["animal"])
    assert operations["surgery_month"].str.fullmatch(r"20\d\d-\d\d").all()
    for name in ("donor_sites", "visits", "scores", "complications", "exits"):
        assert len(frames[name].merge(operations[key])) == len(frames[name])
    joined = frames["visits"].merge(frames["exits"], on=key)
    assert (joined["visit_day"] <= joined["exit_day"]).all()
    assert 8 < len(frames["visits"]) / len(operations) < 10.5
    healed = joined[joined["epithelialised"] == "yes"].groupby(key).size()
    said = frames["exits"][frames["exits"]["exit_reason"].str.startswith("healed")]
    assert set(pd.MultiIndex.from_frame(said[key])) <= set(healed.index)


def test_the_same_seed_gives_the_same_rows(tmp_path):
    first, again, other = (
        duckdb.read_parquet(str(write_register(tmp_path / name, reconstructions=50, seed=seed)["visits"])).df()
        for name, seed in (("a", 1), ("b", 1), ("c", 2))
    )
    pd.testing.assert_frame_equal(first, again)
    assert not first.equals(other)
