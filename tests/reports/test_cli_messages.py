"""What the commands say of a change: counts by sheet, the rows that were touched, and how many stay unnamed."""

from audit.history import Changes, TableChanges
from reports.cli_messages import change_lines


def test_rows_beyond_those_that_are_listed_are_counted():
    rows = tuple(("visits", f"case {number}", "ended") for number in range(1000))
    told = change_lines(Changes(1, (TableChanges("visits", 30, 0, 1500, 7),), rows))
    assert told.startswith("Visits: 30 added, 0 changed, 1,500 ended, 7 as before")
    assert told.count("ended: Visits") == 20
    assert told.endswith("and 1,480 more")


def test_a_load_that_changes_nothing_says_so():
    assert change_lines(Changes(None, (), ())).startswith("Nothing changed")
