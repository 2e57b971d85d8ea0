"""A store in memory for rows that a test plants; see tests/planted.py."""

from collections.abc import Iterator

import pytest

from audit.store import Store, open_store


@pytest.fixture
def store() -> Iterator[Store]:
    """An empty store in memory."""
    with open_store(":memory:") as opened:
        yield opened
