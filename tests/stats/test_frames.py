"""Every result of the statistics shows itself as a table: tidy, with a row an estimate, a day, a mass or a group."""

import importlib
import inspect
from pathlib import Path

import numpy as np
import pytest

import audit.stats
from audit.results import Estimate, Tidy
from audit.stats.competing import competing_npmle
from audit.stats.interval_log_rank import interval_log_rank
from audit.stats.kruskal import dunn_pairs, kruskal_wallis
from audit.stats.measurement import limits_of_agreement
from audit.stats.npmle import npmle
from audit.stats.percent import percent_take
from audit.stats.pooling import pooled_shares
from audit.stats.profile import band
from audit.stats.proportions import clopper_pearson, clustered_share
from audit.stats.recurrent import mean_cumulative
from audit.stats.verdict import verdict

LEFT, RIGHT = np.arange(20.0), np.arange(20.0) + 7
GROUPS = ["mesh", "sheet"] * 10
INSIDE = {"Cells", "Fit", "MixtureFit", "Swaps", "Proportionality", "Support"}


def rng():
    return np.random.default_rng(1)


RESULTS = [
    (clopper_pearson(3, 9), 1, "estimate"),
    (clustered_share([2, 1], [2, 2]), 1, "design_effect"),
    (pooled_shares(["a", "b"], [1, 2], [3, 3]), 4, "estimate"),
    (percent_take([90, 100, 40], rng=rng()), 3, "viable"),
    (npmle([0, 7], [7, 14]), 2, "mass"),
    (band([0, 7], [7, 14], [5, 10]), 2, "low"),
    (competing_npmle([0, 7], [7, 7], [1, 2]), 3, "cause"),
    (interval_log_rank(LEFT, RIGHT, GROUPS, rng(), draws=99), 2, "score"),
    (mean_cumulative([1, 1], [2, 5], [1, 2], [9, 9]), 2, "mean"),
    (kruskal_wallis([[1, 2], [2, 3]], rng=rng(), draws=99), 1, "p"),
    (dunn_pairs([[1, 2], [2, 3]])[0], 1, "p_holm"),
    (verdict(clopper_pearson(9, 10), 0.7, 0.0), 1, "verdict"),
    (limits_of_agreement([1, 2, 4], [1, 3, 3], fewest=2), 3, "estimate"),
]


@pytest.mark.parametrize(("result", "rows", "column"), RESULTS, ids=lambda value: type(value).__name__)
def test_frame_has_its_rows_and_shows_in_a_notebook(result, rows, column):
    assert len(result.frame) == rows
    assert column in result.frame.columns
    assert f"<th>{column}</th>" in result._repr_html_()


def test_no_result_of_the_statistics_is_without_a_frame():
    plain = set()
    for path in Path(audit.stats.__file__).parent.glob("[a-z]*.py"):
        module = importlib.import_module(f"audit.stats.{path.stem}")
        for name, thing in inspect.getmembers(module, inspect.isclass):
            own = thing.__module__ == module.__name__ and hasattr(thing, "__dataclass_fields__")
            if own and not name.startswith("_") and not issubclass(thing, Tidy):
                plain.add(name)
    assert plain - INSIDE == set()
    assert issubclass(Estimate, Tidy)
