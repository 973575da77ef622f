"""What the tests of this floor share."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from accounts.models import Person
from tests.factories import client_for


@pytest.fixture
def count_of(db: None) -> Callable[[Person, str], int]:
    """Count the questions that the database is asked for a page."""

    def count(person: Person, url: str) -> int:
        client = client_for(person)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(url).status_code == 200
        return len(asked)

    return count
