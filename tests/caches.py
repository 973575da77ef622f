"""What was kept or counted before a test is forgotten: the next test's rows have the same keys."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import caches


@pytest.fixture(autouse=True)
def nothing_kept() -> Iterator[None]:
    """Settled rows are others, and nobody has asked too often yet."""
    caches["default"].clear()
    caches["settled"].clear()
    yield
    caches["settled"].clear()
