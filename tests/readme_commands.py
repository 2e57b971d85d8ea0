"""The commands of the README, read from it and typed in their order."""

import re
import shlex
from pathlib import Path

import pytest

from reports.cli import main
from synthetic_data.edge_cases import edge_case
from synthetic_data.workbook import write_workbook

README = Path(__file__).parent.parent / "README.md"


def readme_commands() -> list[list[str]]:
    """What the README has a user type, without the name of the program."""
    return [shlex.split(line)[1:] for line in re.findall(r"`(takehold [a-z][^`]*)`", README.read_text("utf-8"))]


def type_them(folder: Path) -> None:
    """Type the commands in a folder; twelve hand-made cases stand in the workbook, loaded again after `undo`."""
    commands = readme_commands()
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setattr("click.get_app_dir", lambda _: str(folder / "config"))
        for words in commands:
            if words[0] == "check":
                (folder / "grafts.xlsx").unlink()
                write_workbook(edge_case("all grafts took"), folder / "grafts.xlsx")
            assert main(words) == 0, words
            if words[0] == "undo":
                assert main(next(words for words in commands if words[0] == "load")) == 0
