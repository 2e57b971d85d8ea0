"""Reads the published worked examples kept beside the tests, each with its source and status."""

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


def published(file: str, case_id: str) -> Case:
    """The case with this id in tests/reference/FILE.json."""
    records = json.loads((REFERENCE / f"{file}.json").read_text(encoding="utf-8"))
    return Case(next(record for record in records if record["id"] == case_id))
