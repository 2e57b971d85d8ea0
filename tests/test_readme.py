"""What the README tells a user to type works as it stands, and it says what it must."""

import re

import pytest

from tests.readme_commands import README as PATH
from tests.readme_commands import readme_commands

README = PATH.read_text("utf-8")


def test_the_commands_of_the_table_run_in_their_order(readme_folder):
    assert [words[0] for words in readme_commands()] == [
        "template",
        "freeze",
        "check",
        "load",
        "undo",
        "report",
        "write-up",
        "dictionary",
    ]
    assert (readme_folder / "audit-report" / "report.html").exists()
    assert (readme_folder / "write-up" / "manuscript.docx").exists()


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
        assert (PATH.parent / target).exists(), target
