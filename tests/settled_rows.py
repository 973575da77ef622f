"""What a process keeps of settled rows is forgotten between tests: their rows are others."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.core.cache import caches


@pytest.fixture(autouse=True)
def nothing_kept() -> Iterator[None]:
    caches["settled"].clear()
    yield
    caches["settled"].clear()
