"""A load is all or nothing, keeps the history of every row, and can be taken back."""

import gzip
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import duckdb
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from audit import dictionary, schema
from audit.cases import never_stored
from audit.engine import queries
from audit.errors import StoreError
from audit.migration import latest
from audit.protocol import read_protocol
from audit.store import Store, open_store

ONE, TWO = "1" * 12, "2" * 12
ON = date(2026, 3, 1)
KEY = {"wound": "A", "operation": 1}


def frame(table: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    """The rows with every column of the table, blank where not given."""
    columns = list(schema.columns(dictionary.table(table)))
    return pd.DataFrame([{name: row.get(name) for name in columns} for row in rows], columns=columns, dtype=object)


def file_of(*animals: str, visit_days: tuple[int, ...] = (7, 14), **visit: object) -> dict[str, pd.DataFrame]:
    """The tables of a file: each animal with one operation and visits on those days."""
    rows = {
        "animals": [{"animal": a, "species": "dog", "comorbidity": ["none"]} for a in animals],
        "wounds": [{"animal": a, "wound": "A", "region": "carpus"} for a in animals],
        "reconstructions": [
            {"animal": a, **KEY, "surgery_month": "2024-05", "done_method": "punch", "running_order": 1, "clock_day": 0}
            for a in animals
        ],
        "visits": [
            {"animal": a, **KEY, "visit_day": day, "contact": "clinic", "absent": ["exudate=refused"], **visit}
            for a in animals
            for day in visit_days
        ],
    }
    return {table: frame(table, given) for table, given in rows.items()}


@pytest.fixture
def store():
    with open_store(":memory:") as opened:
        yield opened


def load(store: Store, tables: dict[str, pd.DataFrame]):
    return store.load(tables, fingerprint="0" * 64, on=ON)


def visits(store: Store) -> list[tuple[object, ...]]:
    kept = store.under(read_protocol()).rows("stg_visits")
    return list(kept[["animal", "visit_day", "viable_pct"]].astype(object).itertuples(index=False, name=None))


def everything(store: Store) -> dict[str, list[tuple[object, ...]]]:
    """All that is stored, ended rows and loads included."""
    names = [table.name for table in dictionary.TABLES] + ["loads"]
    return {name: store._connection.execute(f"select * from {name} order by all").fetchall() for name in names}


def test_a_load_tells_what_it_added(store):
    changes = load(store, file_of(ONE, visit_days=(7,)))

    assert [(each.table, each.added) for each in changes.tables if each.added] == [
        ("animals", 1), ("wounds", 1), ("reconstructions", 1), ("visits", 1)
    ]  # fmt: skip
    assert changes.rows == (
        ("animals", ONE, "added"), ("wounds", f"{ONE}-A", "added"), ("reconstructions", f"{ONE}-A1", "added"),
        ("visits", f"{ONE}-A1 7 clinic", "added"),
    )  # fmt: skip
    assert (changes.load_id, changes.touched, changes.unlisted, changes.is_empty) == (1, 4, 0, False)
    assert store.loads().drop(columns="fingerprint").iloc[0].to_dict() == {
        "load_id": 1, "loaded_on": pd.Timestamp(ON), "rows_added": 4, "rows_changed": 0, "rows_ended": 0
    }  # fmt: skip


def test_the_same_rows_twice_change_nothing(store):
    load(store, file_of(ONE, TWO))
    before = everything(store)
    again = load(store, file_of(TWO, ONE))

    assert again.is_empty
    assert again.load_id is None
    assert everything(store) == before


def test_a_corrected_date_ends_the_old_row_and_adds_the_new(store):
    load(store, file_of(ONE, visit_days=(7, 14)))
    changes = load(store, file_of(ONE, visit_days=(7, 15)))

    assert changes.rows == (
        ("visits", f"{ONE}-A1 14 clinic", "ended"), ("visits", f"{ONE}-A1 15 clinic", "added")
    )  # fmt: skip
    stored = "select visit_day, load_id, ended_by from visits order by all"
    assert store._connection.execute(stored).fetchall() == [(7, 1, None), (14, 1, 2), (15, 2, None)]


def test_a_corrected_value_is_a_changed_row(store):
    load(store, file_of(ONE, visit_days=(7,), viable_pct=80.0))
    changes = load(store, file_of(ONE, visit_days=(7,), viable_pct=70.0))

    assert changes.rows == (("visits", f"{ONE}-A1 7 clinic", "changed"),)
    assert [(each.changed, each.unchanged) for each in changes.tables if each.table == "visits"] == [(1, 0)]
    assert visits(store) == [(ONE, 7, 70.0)]


def test_a_reason_for_absence_is_part_of_the_row(store):
    load(store, file_of(ONE, visit_days=(7,)))
    assert load(store, file_of(ONE, visit_days=(7,), absent=None)).touched == 1


def test_other_animals_stay_as_they_are(store):
    load(store, file_of(ONE, TWO, visit_days=(7,)))
    changes = load(store, file_of(TWO, visit_days=()))

    assert changes.rows == (("visits", f"{TWO}-A1 7 clinic", "ended"),)
    assert [row[0] for row in visits(store)] == [ONE]


def test_undo_restores_exactly(store):
    load(store, file_of(ONE, TWO))
    before = everything(store)
    load(store, file_of(ONE, visit_days=(7, 21), viable_pct=50.0))
    undone = store.undo()

    assert everything(store) == before
    assert sorted(undone.rows) == [
        ("visits", f"{ONE}-A1 14 clinic", "added"),
        ("visits", f"{ONE}-A1 21 clinic", "ended"),
        ("visits", f"{ONE}-A1 7 clinic", "changed"),
    ]
    assert store.undo().touched == 10
    with pytest.raises(StoreError, match="no load to take back"):
        store.undo()


days = st.lists(st.integers(0, 30), unique=True, max_size=4).map(tuple)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    files=st.lists(
        st.tuples(st.sampled_from([(ONE,), (TWO,), (ONE, TWO)]), days, st.sampled_from([50.0, None])), max_size=3
    )
)
def test_any_loads_can_be_taken_back_one_by_one(files):
    with open_store(":memory:") as store:
        states = [everything(store)]
        for animals, visit_days, viable in files:
            if not load(store, file_of(*animals, visit_days=visit_days, viable_pct=viable)).is_empty:
                states.append(everything(store))
            current = [(a, day) for a, day, _ in visits(store) if a in animals]
            assert current == sorted((a, day) for a in animals for day in visit_days)
        while len(states) > 1:
            assert everything(store) == states.pop()
            store.undo()
        assert everything(store) == states[0]


def spoiled(table: str, **values: object) -> dict[str, pd.DataFrame]:
    tables = file_of(ONE)
    tables[table] = tables[table].assign(**values)
    return tables


FAULTS = [
    (spoiled("visits", viable_pct=[101.0, 50.0]), "visits: 1 with viable_pct '101.0'"),
    (spoiled("visits", visit_day=[-1, 7]), "visits: 1 with visit_day '-1'"),
    (spoiled("visits", contact="letter"), "visits: 2 with contact 'letter'"),
    (spoiled("visits", visit_day=[None, 7]), "visits: 1 with visit_day blank"),
    (spoiled("visits", absent=[["exudate=forgotten"], None]), "visits: 1 with absent .*exudate=forgotten"),
    (spoiled("visits", assessor_code="Dr Grey"), "visits: 2 with assessor_code 'Dr Grey'"),
    (spoiled("animals", comorbidity=[["none", "sadness"]]), "animals: 1 with comorbidity .*sadness"),
    (spoiled("reconstructions", surgery_month="2024-05-17"), "surgery_month '2024-05-17'"),
    (spoiled("reconstructions", running_order=None), "running_order blank"),
    (spoiled("visits", visit_day=7), f"the row {ONE}-A1 7 clinic stands there 2 times"),
    (spoiled("visits", operation=2), f"visits: {ONE} A 2 is not among the reconstructions"),
    (spoiled("wounds", animal=TWO), f"wounds: {TWO} is not among the animals"),
    (spoiled("animals", animal="Rex"), "animals: 1 with animal 'Rex'"),
    (
        spoiled("visits", visit_day="Could not convert string 'soon' to INT32"),
        "Could not convert string 'soon' to INT32",
    ),
    (spoiled("visits", owner="Smith"), "unknown columns \\['owner'\\]"),
    ({"visits": file_of(ONE)["visits"].drop(columns="contact")}, "missing columns \\['contact'\\]"),
    ({"owners": frame("animals", [])}, "no table 'owners'"),
]


@pytest.mark.parametrize(("tables", "sentence"), FAULTS)
def test_a_failing_load_leaves_nothing(store, tables, sentence):
    load(store, file_of(TWO))
    before = everything(store)
    with pytest.raises(StoreError, match=sentence):
        load(store, tables)

    assert everything(store) == before
    assert load(store, file_of(ONE)).touched == 5


def test_faults_are_told_together(store):
    tables = spoiled("visits", operation=2, viable_pct=[101.0, 102.0])
    with pytest.raises(StoreError, match="not among the reconstructions; visits: 2 with viable_pct"):
        load(store, tables)


def test_parquet_and_data_frames_load_alike(tmp_path):
    tables = file_of(ONE, TWO)
    paths = {}
    for name, given_rows in tables.items():
        paths[name] = tmp_path / f"{name}.parquet"
        typed = ", ".join(f"{c}::{t} as {c}" for c, t in schema.columns(dictionary.table(name)).items())
        duckdb.from_df(given_rows).project(typed).write_parquet(str(paths[name]))
    with open_store(":memory:", parquet=tmp_path) as by_path, open_store(":memory:") as by_frame:
        load(by_path, paths)
        load(by_frame, tables)

        assert everything(by_path) == everything(by_frame)
        assert load(by_path, tables).is_empty


def test_parquet_elsewhere_is_refused(store, tmp_path):
    duckdb.sql("select 1 as animal").write_parquet(str(tmp_path / "animals.parquet"))
    with pytest.raises(StoreError, match=r"rows of animals cannot be read: .*open the store with parquet=FOLDER"):
        load(store, {"animals": tmp_path / "animals.parquet"})


def test_a_store_reads_no_file_but_its_own(tmp_path):
    secret = tmp_path / "other.csv"
    secret.write_text("a\n1\n")
    with open_store(tmp_path / "s.duckdb", create=True) as store, pytest.raises(duckdb.PermissionException):
        store._connection.execute(f"from read_csv('{secret}')")


def test_what_was_loaded_is_there_when_opened_again(tmp_path):
    path = tmp_path / "s.duckdb"
    with open_store(path, create=True) as store:
        load(store, file_of(ONE))
        before = everything(store)
    with open_store(path, read_only=True) as store:
        assert everything(store) == before
        assert [row[1] for row in visits(store)] == [7, 14]


OPENING = "from pathlib import Path; from audit.store import open_store; open_store(Path({path!r}))"


def test_a_second_process_gets_a_sentence(tmp_path):
    path = tmp_path / "s.duckdb"
    with open_store(path, create=True):
        second = subprocess.run(
            [sys.executable, "-c", OPENING.format(path=str(path))], capture_output=True, text=True, timeout=60
        )

    assert second.stderr.strip().endswith(f"StoreError: {path} is open in another program; close that and try again")


def test_a_second_opening_in_one_process_gets_the_same_sentence(tmp_path):
    path = tmp_path / "s.duckdb"
    with open_store(path, create=True), pytest.raises(StoreError, match="open in another program"):
        open_store(path, read_only=True)


def test_files_that_are_no_store(tmp_path):
    with pytest.raises(StoreError, match=r"make one with: takehold load WORKBOOK\.xlsx --store"):
        open_store(tmp_path / "none.duckdb")
    (tmp_path / "notes.txt").write_text("not a database, though it is long enough to look like one" * 200)
    with pytest.raises(StoreError, match="is no store"):
        open_store(tmp_path / "notes.txt")
    duckdb.connect(tmp_path / "foreign.duckdb").close()
    with pytest.raises(StoreError, match="not made by this project"):
        open_store(tmp_path / "foreign.duckdb")
    with open_store(tmp_path / "newer.duckdb", create=True) as store:
        store._connection.execute("update schema_number set number = 99")
    with pytest.raises(StoreError, match=r"later version of this program \(layout 99"):
        open_store(tmp_path / "newer.duckdb")


OLD = Path(__file__).parent / "stores" / "0.1.0.duckdb.gz"


def unpacked(folder: Path) -> Path:
    path = folder / "practice.duckdb"
    path.write_bytes(gzip.decompress(OLD.read_bytes()))
    return path


@pytest.mark.parametrize("read_only", [True, False])
def test_a_store_of_the_first_version_is_brought_up_to_date_and_kept_as_it_was(tmp_path, read_only):
    path = unpacked(tmp_path)
    before = path.read_bytes()
    with duckdb.connect(path, read_only=True) as old:
        rows = {table.name: old.execute(f"from {table.name} order by all").fetchall() for table in dictionary.TABLES}
        loads = old.execute("from loads").fetchall()
        columns = {name: ", ".join(old.sql(f"from {name} limit 0").columns) for name in rows}

    with open_store(path, read_only=read_only, on=ON) as store:
        kept = {name: f"select {listed} from {name} order by all" for name, listed in columns.items()}
        assert {name: store._connection.execute(sql).fetchall() for name, sql in kept.items()} == rows
        assert store._connection.execute("from loads").fetchall() == loads
        assert store.kept_as_it_was == tmp_path / "practice.2026-03-01-schema-1.duckdb"
        assert store.kept_as_it_was.read_bytes() == before
        assert len(store.under(read_protocol()).rows("case_list")) == 2
    with open_store(path, read_only=True) as store:
        assert store.kept_as_it_was is None


def test_history_goes_on_after_a_migration(tmp_path):
    path = unpacked(tmp_path)
    with open_store(path, on=ON) as store:
        before = everything(store)
        changes = load(store, file_of(ONE, visit_days=(7, 14), viable_pct=33.0))
        assert changes.touched
        store.undo()
        assert everything(store) == before


def test_a_migration_that_fails_leaves_the_store_as_it_was(tmp_path, monkeypatch):
    path = unpacked(tmp_path)
    before = path.read_bytes()
    steps = queries("schema") | {"9999_broken": "create table one (a integer); select * from nowhere;"}
    monkeypatch.setattr("audit.migration.queries", lambda folder: steps)
    with pytest.raises(duckdb.Error, match="nowhere"):
        open_store(path, on=ON)

    with duckdb.connect(path, read_only=True) as store:
        assert store.execute("select count(*) from made_from").fetchone() == (1,)
    assert (tmp_path / "practice.2026-03-01-schema-1.duckdb").read_bytes() == before


def test_a_field_without_its_migration_is_answered_with_the_file_to_write(monkeypatch):
    table = dictionary.table("exits")
    field = dictionary.Field("nights", "nights", "whole", "burden")
    tables = [replace(each, fields=(*each.fields, field)) if each is table else each for each in dictionary.TABLES]
    monkeypatch.setattr("audit.migration.TABLES", tables)
    wanted = rf"write queries/schema/{latest() + 1:04}_NAME\.sql with: alter table exits add column nights integer;"
    with pytest.raises(StoreError, match=wanted):
        open_store(":memory:")


def test_rows_need_a_known_name(store):
    with pytest.raises(StoreError, match="no query takes; there are: "):
        store.under(read_protocol()).rows("takes")


def test_types_do_not_depend_on_the_blanks(store):
    empty = store.under(read_protocol()).rows("case_list").dtypes
    load(store, file_of(ONE))

    assert store.under(read_protocol()).rows("case_list").dtypes.to_dict() == empty.to_dict()


def test_a_view_stands_still_and_the_next_one_follows_the_store(store):
    load(store, file_of(ONE))
    first = store.under(read_protocol())
    load(store, file_of(TWO))
    second = store.under(read_protocol())
    store.undo()

    assert [len(view.rows("case_list")) for view in (first, second, store.under(read_protocol()))] == [1, 2, 1]
    assert [len(view.loads) for view in (first, second)] == [1, 2]


def with_term(section: str, **changes: object):
    protocol = read_protocol()
    return protocol.model_copy(update={section: getattr(protocol, section).model_copy(update=changes)})


def test_two_thresholds_and_two_periods_stand_side_by_side(store):
    load(store, file_of(ONE, visit_days=(10,), viable_pct=80.0, lost_pct=20.0, graft_visible=True))
    early, late = (read_protocol().period.model_copy(update={"start": a, "end": b}) for a, b in PERIODS)
    lenient, strict = (with_term("take", threshold_pct=pct, also_pct=()) for pct in (75, 90))
    views = [store.under(lenient), store.under(strict), store.under(lenient, early), store.under(lenient, late)]

    assert [view.rows("take").loc[0, "status"] for view in views] == ["sure_yes", "sure_no", "excluded", "sure_yes"]


PERIODS = (("2023-01", "2023-12"), ("2024-01", "2024-12"))


@pytest.mark.parametrize(("counted", "status"), [("over_all", "excluded"), ("in_period", "eligible")])
def test_the_first_operation_is_counted_over_all_or_within_the_period(store, counted, status):
    tables = file_of(ONE)
    earlier = tables["reconstructions"]
    later = earlier.assign(operation=2, surgery_month="2025-05", running_order=2, clock_day=365)
    load(store, tables | {"reconstructions": pd.concat([earlier, later])})
    period = read_protocol().period.model_copy(update={"start": "2025-01", "end": "2025-12"})

    listed = store.under(with_term("analysis", first_operation=counted), period).rows("case_list")
    assert dict(zip(listed["operation"], listed["status"], strict=True)) == {1: "excluded", 2: status}


def test_rows_that_are_never_stored_answer_as_a_store_does(store):
    tables = file_of(ONE, TWO)
    load(store, tables)
    stored, passing = store.under(read_protocol()), never_stored(tables, read_protocol())

    assert passing.loads.empty
    for name in ("case_list", "take", "healing", "completeness_tally"):
        pd.testing.assert_frame_equal(stored.rows(name), passing.rows(name))


@pytest.mark.parametrize("folder", ["staging", "marts", "tallies"])
def test_every_query_says_its_grain_and_runs_on_an_empty_store(store, folder):
    cases = store.under(read_protocol())
    for name, sql in queries(folder).items():
        assert sql.startswith("-- One row "), name
        assert len(cases.rows(name)) == 0 or name == "completeness_tally"


def test_the_schema_holds_every_field_and_nothing_else(store):
    for table in dictionary.TABLES:
        columns = store._connection.sql(f"select * from {table.name}").columns
        derived = [extra.name for extra in dictionary.DERIVED.get(table.name, ())]
        wanted = [*(f.column for f in table.fields), *derived, "absent", "load_id", "ended_by"]
        assert sorted(columns) == sorted(wanted)  # a column that a migration added stands last


def test_the_store_has_no_column_for_a_calendar_day_of_a_case(store):
    kinds = {
        str(kind)
        for table in dictionary.TABLES
        for kind in store._connection.sql(f"select * from {table.name}").types
    }  # fmt: skip
    assert kinds <= {"VARCHAR", "VARCHAR[]", "BOOLEAN", "INTEGER", "DOUBLE"}


def test_the_queries_are_where_the_package_looks():
    folder = Path(__file__).parents[1] / "queries"
    assert {path.stem for path in (folder / "marts").glob("*.sql")} == set(queries("marts"))
