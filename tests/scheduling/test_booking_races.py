"""Several who book at once: one wins, the others read why."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import time
from decimal import Decimal
from threading import Barrier
from typing import Any

import pytest
from django.db import connection

from accounts.models import Person
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling.models import Renewal, Shift, Visit
from scheduling.rules.visit_states import RenewalState, VisitState
from scheduling.services.cancel import cancel_visit
from scheduling.services.visits import start_visit
from sites.models import Property
from tests.factories import make_customer, make_person, make_property, make_renewal, make_shift
from tests.scheduling.bookings import DAY, NOW, book

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


@pytest.fixture
def friday(technician: Person) -> Shift:
    return make_shift(technician, DAY.weekday())


def _attempt(technician: Person, gate: Barrier, asked: dict[str, Any]) -> str:
    try:
        gate.wait(timeout=20)
        book(technician, **asked)
    except Refused as refused:
        return refused.code
    finally:
        connection.close()
    return "booked"


def _race(technician: Person, asked: list[dict[str, Any]]) -> list[str]:
    gate = Barrier(len(asked))
    with ThreadPoolExecutor(len(asked)) as pool:
        tries = [pool.submit(_attempt, technician, gate, one) for one in asked]
        return sorted(one.result() for one in tries)


def test_of_four_who_book_one_renewal_one_does(
    home: Property, technician: Person, friday: Shift
) -> None:
    renewal = make_renewal(home)
    outcomes = _race(technician, [{"renewal_id": renewal.pk}] * 4)
    assert outcomes == ["booked", "just_taken", "just_taken", "just_taken"]
    assert Visit.objects.count() == 1
    assert Renewal.objects.get().state == RenewalState.BOOKED


def test_who_comes_second_reads_who_was_faster(
    home: Property, technician: Person, friday: Shift
) -> None:
    first = make_person([Role.OFFICE], technician.branch, full_name="Dana Example")
    second = make_person([Role.OFFICE], technician.branch, full_name="Pat Sample")
    renewal = make_renewal(home)
    gate, said = Barrier(2), []

    def attempt(person: Person) -> str:
        try:
            gate.wait(timeout=20)
            book(technician, by=person, renewal_id=renewal.pk)
        except Refused as refused:
            said.append(refused.sentence)
            return refused.code
        finally:
            connection.close()
        return person.full_name

    with ThreadPoolExecutor(2) as pool:
        outcomes = list(pool.map(attempt, (first, second)))
    assert outcomes.count("just_taken") == 1
    (winner,) = [one for one in outcomes if one != "just_taken"]
    assert said == [
        f"{winner} booked this renewal already, for Nov 27, 2026 with {technician.full_name}. "
        "Open it to see the visit."
    ]


def test_of_four_who_want_one_place_one_gets_it(
    home: Property, technician: Person, friday: Shift
) -> None:
    places = [make_property(home.customer, latitude=Decimal(40 + n) / 1) for n in range(4)]
    asked = [{"property_id": one.pk, "minutes": 120, "window_closes": time(10)} for one in places]
    outcomes = _race(technician, asked)
    assert outcomes.count("booked") == 1
    assert set(outcomes) <= {"booked", "no_place", "just_taken"}
    assert Visit.objects.count() == 1


def _turn(gate: Barrier, act: Callable[[], object]) -> bool:
    try:
        gate.wait(timeout=20)
        act()
    except Refused as refused:
        assert refused.code == "visit_state"
        return False
    finally:
        connection.close()
    return True


def test_a_visit_is_either_started_or_canceled(
    home: Property, technician: Person, friday: Shift
) -> None:
    for _ in range(4):
        visit = book(technician, property_id=home.pk, day=DAY)
        gate = Barrier(2)
        acts = (
            lambda pk=visit.pk: start_visit(visit_id=pk, by=technician, now=NOW),
            lambda pk=visit.pk: cancel_visit(visit_id=pk, by=None, now=NOW),
        )
        with ThreadPoolExecutor(2) as pool:
            won = [one.result() for one in [pool.submit(_turn, gate, act) for act in acts]]
        assert sorted(won) == [False, True]
        visit.refresh_from_db()
        assert (visit.state == VisitState.STARTED) == won[0]
        Visit.objects.all().delete()
