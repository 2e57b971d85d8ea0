"""
Reads the worked examples kept beside the tests, each with its source and status.

A figure has a `value`, recomputed in R, Python or by hand on published data, which the tests hold our functions to.
Where the source prints it, it has that print too (`published`), and how far off rounding puts it (`published_tol`).
"""

import json
from pathlib import Path
from typing import Any

import pytest

REFERENCE = Path(__file__).parent.parent / "reference"


class Case:
    """One worked example: its data, and its expected values with their tolerances."""

    def __init__(self, record: dict[str, Any]) -> None:
        self.data = record["data"]
        self._expected = {entry["name"]: entry for entry in record["expected"]}

    def __getitem__(self, name: str) -> Any:
        """The expected value, ready to be compared with `==`."""
        entry = self._expected[name]
        return pytest.approx(entry["value"], abs=entry["tol_abs"], rel=entry["tol_rel"])

    def value(self, name: str) -> Any:
        """The expected value as a plain number or list."""
        return self._expected[name]["value"]


def printed() -> list[tuple[str, Any, Any, Any]]:
    """Every figure that its source prints: its name, the print, what rounding allows, and the recomputed value."""
    return [
        (f"{record['id']}: {entry['name']}", entry["published"], entry["published_tol"], entry["value"])
        for path in sorted(REFERENCE.glob("*.json"))
        for record in json.loads(path.read_text(encoding="utf-8"))
        for entry in record["expected"]
        if entry.get("published") is not None
    ]


def published(file: str, case_id: str) -> Case:
    """The case with this id in tests/reference/FILE.json."""
    records = json.loads((REFERENCE / f"{file}.json").read_text(encoding="utf-8"))
    return Case(next(record for record in records if record["id"] == case_id))
