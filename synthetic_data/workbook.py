"""An invented practice as the workbook that the intake reads."""

from pathlib import Path

from audit.intake.template import write_template
from synthetic_data.practice import Practice


def write_workbook(practice: Practice, path: Path) -> None:
    """Write the rows of an invented practice into the template at that path."""
    write_template(path, practice.rows)
