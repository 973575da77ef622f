"""A label entered at a known time, and asking for what must be refused."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine

from accounts.models import Branch, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from tests.factories import make_person, make_pest
from tests.treatments.test_labels import label_of, register
from treatments.models import LabelVersion
from treatments.services.labels import enter_label

TODAY = date(2026, 11, 25)
ENTERED = datetime(2026, 11, 24, 20, 0, tzinfo=UTC)
DAY = timedelta(hours=24)


@pytest.fixture
def version(manager: Person) -> LabelVersion:
    """A whole label, entered by the manager at a known time and not verified."""
    with time_machine.travel(ENTERED, tick=False):
        label = label_of(register(manager), make_pest("House ant").pk)
        return enter_label(label=label, by=manager)


@pytest.fixture
def second(branch_ohio: Branch) -> Person:
    """Another manager."""
    return make_person([Role.MANAGER], branch_ohio, "Helen Sorrel")


def refused_by(act: Any, **facts: Any) -> Refused:
    """The refusal of an act that must be refused."""
    with pytest.raises(Refused) as refused:
        act(**facts)
    return refused.value
