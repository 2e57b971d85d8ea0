"""The printed figures of the reference bank against the recomputed ones that all other tests compare with."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from published import REFERENCE, printed

PRINTED = printed()
HERE = Path(__file__).parent


@pytest.mark.parametrize(("name", "print_", "allowed", "value"), PRINTED, ids=[name for name, *_ in PRINTED])
def test_printed_figures_are_the_recomputed_ones(name, print_, allowed, value):
    figures, tolerances, values = (np.atleast_1d(part) for part in (print_, allowed, value))
    assert len(figures) == len(tolerances) == len(values)
    for figure, tolerance, recomputed in zip(figures.tolist(), tolerances.tolist(), values.tolist(), strict=True):
        last_place = 10.0 ** -len(figure.partition(".")[2])
        assert 0 < tolerance <= last_place
        assert abs(float(figure) - recomputed) <= tolerance * (1 + 1e-9)


def test_a_wrong_print_would_be_found():
    name, print_, _, value = next(entry for entry in PRINTED if isinstance(entry[1], str))
    with pytest.raises(AssertionError):
        test_printed_figures_are_the_recomputed_ones(name, str(float(print_) + 1), 0.05, value)


def test_every_case_names_its_source_and_every_print_where_it_was_seen():
    for path in REFERENCE.glob("*.json"):
        for case in json.loads(path.read_text("utf-8")):
            assert case["source"]
            assert case["verified_with"]
            for entry in case["expected"]:
                assert ("published" in entry) == ("published_tol" in entry) == bool(entry.get("published_status"))


def test_no_case_lies_unused():
    asked = " ".join(path.read_text("utf-8") for path in HERE.glob("test_*.py"))
    ids = {case["id"] for path in REFERENCE.glob("*.json") for case in json.loads(path.read_text("utf-8"))}
    assert ids - set(re.findall(r'"([a-z0-9-]+)"', asked)) == set()
