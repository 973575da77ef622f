"""Short form of `python -m tests.faults slot`: processes, not threads, on both engines."""

from __future__ import annotations

import pytest

from accounts.models import Person
from tests.factories import make_customer, make_property
from tests.faults import slot


@pytest.mark.engine
@pytest.mark.django_db(transaction=True)
def test_of_four_processes_one_gets_the_place_in_every_round(technician: Person) -> None:
    slot.shop(technician)
    customer = make_customer(technician.branch)
    places = [make_property(customer) for _ in range(4)]
    outcome = slot.run(technician, places, rounds=2)
    assert outcome.holds, outcome
    assert (outcome.wins, outcome.lost, outcome.overlaps) == (2, 6, 0)
