"""The means to plant single rows in a store: what a test does not name has a harmless value."""

from functools import cache

import pandas as pd

from audit import dictionary, schema
from audit.cases import Cases, from_tallies, never_stored
from audit.engine import queries
from audit.protocol import Protocol, read_protocol
from audit.store import Store

ANIMAL = "a" * 12
CASE = f"{ANIMAL}-A1"
_KEY = {"animal": ANIMAL, "wound": "A", "operation": 1}
_DEFAULTS = {
    "animals": {"animal": ANIMAL, "species": "dog"},
    "wounds": {"animal": ANIMAL, "wound": "A", "region": "carpus"},
    "reconstructions": _KEY
    | {"surgery_month": "2024-05", "done_method": "mesh_full", "running_order": 1, "clock_day": 0},
    "donor_sites": _KEY | {"donor": 1, "donor_closure": "primary", "suture_state": "all_out"},
    "visits": _KEY | {"visit_day": 10, "contact": "clinic", "graft_visible": True},
    "scores": _KEY
    | {"photo_day": 100, "item": "hair", "rater_code": "0" * 12, "is_repeat": False, "clipped": "unclipped"},
    "complications": _KEY
    | {"complication": "seroma", "site": "recipient", "first_seen_day": 5, "action": ["none"], "related": "probable"},
    "exits": _KEY | {"exit_reason": "healed_and_followed", "exit_day": 120},
}  # fmt: skip


def plant(store: Store, table: str, **values: object) -> None:
    """Insert one row, its unnamed columns at their default or blank; it must be one that a load would let in."""
    row = _DEFAULTS[table] | values
    row = {"absent": [], "load_id": 1} | {name: value for name, value in row.items() if value is not None}
    marks = ", ".join("?" * len(row))
    store._connection.execute(f"insert into {table} ({', '.join(row)}) values ({marks})", list(row.values()))
    allowed = " and ".join(f"coalesce({sql}, true)" for sql in schema.conditions(dictionary.table(table)).values())
    impossible = store._connection.execute(f"select * from {table} where not ({allowed})").fetchall()
    assert not impossible, f"no load would let these in: {impossible}"


def plant_case(
    store: Store, animal: str = ANIMAL, *, species: str = "dog", region: str = "carpus", **values: object
) -> str:
    """Insert an animal, its wound A and operation 1 on it, and return the case code."""
    plant(store, "animals", animal=animal, species=species)
    plant(store, "wounds", animal=animal, region=region)
    plant(store, "reconstructions", animal=animal, **values)
    return f"{animal}-A1"


def found(source: Store | Cases, name: str, *columns: str) -> list[tuple[object, ...]]:
    """
    Those columns of a query, all of them if none is named, as tuples in order; a blank is None.

    A store is asked under the shipped protocol.
    """
    frame = (source if isinstance(source, Cases) else source.under(read_protocol())).rows(name)
    frame = frame[list(columns) or list(frame.columns)].astype(object)
    return list(frame.where(pd.notna(frame), None).itertuples(index=False, name=None))


def tallied(
    protocol: Protocol | None = None, loads: pd.DataFrame | None = None, **tallies: list[dict[str, object]]
) -> Cases:
    """The cases of planted rows of tallies; what a row does not name is blank, and it counts one case of no code."""
    frames = {name: _empty_tally(name) for name in queries("tallies")}
    for name, rows in tallies.items():
        columns = list(frames[name].columns)
        blank = dict.fromkeys(columns) | {"weight": 1, "case_codes": []}
        assert {column for row in rows for column in row} <= {*columns}
        frames[name] = pd.DataFrame([blank | row for row in rows], columns=columns, dtype=object)
    return from_tallies(frames, protocol or read_protocol(), loads=loads)


@cache
def _empty_tally(name: str) -> pd.DataFrame:
    with never_stored({}, read_protocol()) as cases:
        return cases.rows(name).iloc[:0]


def protocol_with(section: str, **changes: object) -> Protocol:
    """The shipped protocol with some values of one section changed."""
    protocol = read_protocol()
    return protocol.model_copy(update={section: getattr(protocol, section).model_copy(update=changes)})
