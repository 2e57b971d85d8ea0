"""Days between visits for the tests of the healing curve: drawn at random, or from a published case."""

import numpy as np
from hypothesis import strategies as st

INF = float("inf")
VISITS = st.lists(
    st.tuples(st.integers(0, 12), st.integers(0, 8), st.booleans()).map(
        lambda row: (float(row[0]), INF if row[2] else float(row[0] + row[1]))
    ),
    min_size=1,
    max_size=25,
)


def ends(rows):
    """Left and right ends of rows (left, right)."""
    return np.array(rows).T


def days(case):
    """Left, right and count of a published case; a right end left blank there is infinity here."""
    right = [INF if day is None else float(day) for day in case.data["right"]]
    return case.data["left"], right, case.data.get("count")
