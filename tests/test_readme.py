"""What the README tells a user to type works as it stands, and it says what it must."""

import re
import shlex
from pathlib import Path

import pytest

from reports.cli import main

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")


def commands() -> list[list[str]]:
    return [shlex.split(line)[1:] for line in re.findall(r"`(takehold [a-z][^`]*)`", README)]


def test_the_commands_of_the_table_run_in_their_order(tmp_path, monkeypatch, capsys, demo_workbook):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("click.get_app_dir", lambda _: str(tmp_path / "config"))
    given = commands()
    assert [words[0] for words in given] == [
        "template",
        "freeze",
        "check",
        "load",
        "undo",
        "report",
        "write-up",
        "dictionary",
    ]
    for words in given:
        if words[0] == "check":
            (tmp_path / "grafts.xlsx").write_bytes(demo_workbook.read_bytes())
        assert main(words) == 0, capsys.readouterr().err
    assert (tmp_path / "audit-report" / "report.html").exists()
    assert (tmp_path / "write-up" / "manuscript.docx").exists()


@pytest.mark.parametrize("kind", ["demo", "test"])
def test_one_line_sets_up_and_runs(kind):
    (block,) = re.findall(rf"<!-- {kind} command -->\n```sh\n(.*?)\n```", README, re.DOTALL)
    assert "\n" not in block
    assert block.startswith("python3 -m venv .venv && .venv/bin/pip install")


def test_the_python_of_the_readme_runs(capsys):
    (block,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    exec(compile(block, "README.md", "exec"), {})
    assert capsys.readouterr().out.startswith("0.625 ")  # by hand: 1/4 and 3/8


def test_readme_opens_with_the_job_and_shows_cautions():
    title, job = README.split("\n\n")[:2]
    assert title == "# Takehold"
    assert job.startswith("A small-animal surgeon closes skin defects")
    assert "**Not clinical advice.**" in README


def test_the_picture_and_links_exist():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target
