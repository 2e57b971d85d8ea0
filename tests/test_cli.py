"""The commands as a user types them: what they say, what they leave behind, and their exit codes."""

import gzip
import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from reports.cli import main


def test_help_waits_for_nothing_heavy():
    program = "import sys; from reports.cli import main; main(['--help']); print(*sys.modules)"
    loaded = set(
        subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.split()
    )
    assert not loaded & {
        "numpy",
        "pandas",
        "duckdb",
        "matplotlib",
        "plotnine",
        "statsmodels",
        "lifelines",
        "scipy",
        "pydantic",
    }


def test_a_mistyped_command_is_2_and_says_so(capsys):
    assert main(["reprot"]) == 2
    assert "reprot" in capsys.readouterr().err


def test_no_store_is_1_and_names_the_way_out(tmp_path, capsys):
    assert main(["report", "--store", str(tmp_path / "none.duckdb"), "--into", str(tmp_path / "out")]) == 1
    told = capsys.readouterr().err
    assert "none.duckdb" in told
    assert "takehold load" in told
    assert not (tmp_path / "out").exists()


def test_check_tells_every_fault_as_json(demo_folder, capsys):
    assert main(["check", str(demo_folder / "practice-with-faults.xlsx"), "--json"]) == 1
    faults = json.loads(capsys.readouterr().out)
    errors = [fault for fault in faults if fault["severity"] == "error"]
    assert len(errors) >= 8
    assert all(fault["sentence"] and fault["remedy"] for fault in faults)


def test_a_faulty_workbook_stores_nothing(demo_folder, tmp_path, capsys):
    store = tmp_path / "s.duckdb"
    key = tmp_path / "k.key"
    assert main(["load", str(demo_folder / "practice-with-faults.xlsx"), "--store", str(store), "--key", str(key)]) == 1
    assert "Nothing was loaded" in capsys.readouterr().err
    assert not store.exists()


def test_load_twice_changes_nothing_and_undo_takes_back(demo_workbook, tmp_path, capsys):
    where = ["--store", str(tmp_path / "s.duckdb")]
    load = [
        "load",
        str(demo_workbook),
        *where,
        "--key",
        str(tmp_path / "k.key"),
        "--codes",
        str(tmp_path / "codes.csv"),
    ]
    assert main(load) == 0
    assert main(load) == 0
    assert "nothing" in capsys.readouterr().out.lower()
    if os.name == "posix":
        for private in ("k.key", "codes.csv"):
            assert stat.S_IMODE((tmp_path / private).stat().st_mode) == 0o600
    assert main(["undo", *where]) == 0
    assert main(["undo", *where]) == 1


def test_template_never_writes_over_records(tmp_path, capsys):
    path = tmp_path / "grafts.xlsx"
    path.write_bytes(b"records")
    assert main(["template", str(path)]) == 1
    assert path.read_bytes() == b"records"


def test_demo_refuses_a_folder_that_holds_something(tmp_path, capsys):
    (tmp_path / "mine.txt").write_text("mine")
    assert main(["demo", str(tmp_path)]) == 1
    assert "not empty" in capsys.readouterr().err


def test_the_same_store_and_protocol_give_the_same_bytes(readme_folder, tmp_path):
    first, again = readme_folder / "audit-report", tmp_path / "again"
    store, protocol = str(readme_folder / "practice.duckdb"), str(readme_folder / "protocol.frozen.toml")
    assert main(["report", "--store", store, "--protocol", protocol, "--into", str(again)]) == 0
    files = sorted(path.relative_to(again) for path in again.rglob("*") if path.is_file())
    assert files == sorted(path.relative_to(first) for path in first.rglob("*") if path.is_file())
    assert len(files) > 30
    for name in files:
        assert (again / name).read_bytes() == (first / name).read_bytes(), name


@pytest.mark.parametrize("name", ["report.html", "figures/take-every-graft.svg"])
def test_no_patient_number_or_day_reaches_the_report(demo_folder, name):
    from synthetic_data.demo import demo_practice

    text = (demo_folder / "report" / name).read_text("utf-8")
    for animal in demo_practice().rows["animals"]:
        assert str(animal["patient_number"]) not in text


def test_a_store_of_the_first_version_is_brought_up_to_date_and_said_so(tmp_path, capsys):
    path = tmp_path / "practice.duckdb"
    path.write_bytes(gzip.decompress((Path(__file__).parent / "stores" / "0.1.0.duckdb.gz").read_bytes()))

    assert main(["undo", "--store", str(path)]) == 0
    said = capsys.readouterr()
    (kept,) = tmp_path.glob("practice.*-schema-1.duckdb")
    assert f"{path} was made by an earlier version and is brought up to date; as it was: {kept}" in said.err
    assert "Visits" in said.out
