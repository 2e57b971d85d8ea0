"""Days between visits, drawn at random or from a published case, and shares of independent cases."""

import numpy as np
from hypothesis import strategies as st

from audit.stats.proportions import clustered_share

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


def wilson(successes, total, level=0.95):
    """The share of independent cases, one graft an animal, whose interval is Wilson's."""
    return clustered_share([1, 0], [1, 1], weight=[successes, total - successes], unit="animals", level=level).estimate
