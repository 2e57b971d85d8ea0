"""Every case in a line, from planted rows."""

from dataclasses import astuple

import pytest

from audit.analyses.case_lines import case_lines
from audit.protocol import read_protocol
from audit.store import open_store
from tests.planted import plant, plant_case, protocol_with


@pytest.fixture
def store():
    with open_store(":memory:") as opened:
        yield opened


def test_a_case_in_a_line_with_what_is_known_and_none_elsewhere(store):
    plant_case(store, "b" * 12, species="cat")
    plant_case(store, "c" * 12, surgery_month="2024-06", done_method="punch")
    plant_case(store, "a" * 12, surgery_month="2024-07", running_order=4)
    plant_case(store, "d" * 12, surgery_month="2024-07", running_order=3)
    plant_case(store, "e" * 12, done_method="not_done")
    seen = {"animal": "a" * 12}
    plant(store, "visits", visit_day=8, viable_pct=70, uncertain_pct=20, lost_pct=10, epithelialised="no", **seen)
    plant(store, "visits", visit_day=30, epithelialised="yes", **seen)
    plant(store, "scores", value=3, **seen)
    plant(store, "scores", value=1, item="look_edge", **seen)
    plant(store, "complications", action=["antimicrobial"], **seen)
    plant(store, "exits", **seen)
    plant(store, "visits", animal="c" * 12, visit_day=9, viable_pct=100)
    store._connection.execute("update wounds set area_cm2 = 12.5 where animal = 'aaaaaaaaaaaa'")

    lines = case_lines(store.under(read_protocol()))
    assert [line.case_code[0] for line in lines] == ["c", "d", "a", "b"]
    assert astuple(lines[2]) == (
        "aaaaaaaaaaaa-A1", "dog", None, None, None, "distal_limb", 12.5, "mesh_full", (70.0, 90.0), 8, 8, 30, "major",
        3, "healed_and_followed", 120,
    )  # fmt: skip
    assert (lines[0].take, lines[0].take_day, lines[0].method, lines[0].worst) == ((100.0, 100.0), 9, "punch", None)
    blank = lines[3]
    assert (blank.species, blank.take, blank.healed_by, blank.worst, blank.hair, blank.exit_reason) == (
        "cat",
        *[None] * 5,
    )


def test_a_line_is_of_the_protocols_threshold_and_of_eligible_cases(store):
    plant_case(store)
    plant(store, "reconstructions", operation=2)
    plant(store, "visits", viable_pct=60, lost_pct=40)
    plant(store, "exits", last_seen_day=60)
    (line,) = case_lines(store.under(protocol_with("take", threshold_pct=50, also_pct=[75])))
    assert (line.take, line.worst) == ((60.0, 60.0), "none")
