"""Two planned visits of one technician never overlap: the database says so, on both engines."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier

import pytest
from django.db import DatabaseError, connection, transaction

from accounts.models import Person
from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from sites.models import Property
from tests.factories import TODAY, make_customer, make_property, make_visit

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NINE = datetime(TODAY.year, TODAY.month, TODAY.day, 14, tzinfo=UTC)
WRITERS, ROUNDS = 4, 2


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


def _planned(home: Property, technician: Person, start: int, end: int, **fields: object) -> Visit:
    """A visit planned from `start` to `end`, minutes after nine."""
    return make_visit(
        home,
        technician,
        starts_at=NINE + timedelta(minutes=start),
        ends_at=NINE + timedelta(minutes=end),
        **fields,
    )


def _refused(write: Callable[[], object]) -> None:
    with pytest.raises(DatabaseError, match="visit_no_overlap"), transaction.atomic():
        write()


@pytest.mark.parametrize(
    ("start", "end"),
    [(0, 60), (-30, 1), (59, 120), (10, 20), (-30, 90)],
    ids=["same", "over the start", "over the end", "inside", "around"],
)
def test_overlapping_work_is_refused(
    home: Property, technician: Person, start: int, end: int
) -> None:
    _planned(home, technician, 0, 60)
    _refused(lambda: _planned(home, technician, start, end))
    assert Visit.objects.count() == 1


def test_work_may_follow_at_once_and_go_before(home: Property, technician: Person) -> None:
    _planned(home, technician, 0, 60)
    _planned(home, technician, 60, 90)
    _planned(home, technician, -30, 0)
    assert Visit.objects.count() == 3


def test_two_technicians_may_work_at_the_same_time(
    home: Property, technician: Person, other_technician: Person
) -> None:
    _planned(home, technician, 0, 60)
    _planned(home, other_technician, 0, 60)
    assert Visit.objects.count() == 2


def test_canceled_and_unplanned_visits_stand_outside(home: Property, technician: Person) -> None:
    _planned(home, technician, 0, 60, state=VisitState.CANCELED)
    make_visit(home, technician)
    _planned(home, technician, 0, 60)
    make_visit(home, technician)
    _planned(home, technician, 0, 60, state=VisitState.CANCELED)
    assert Visit.objects.count() == 5


def test_a_move_into_other_work_is_refused(home: Property, technician: Person) -> None:
    _planned(home, technician, 0, 60)
    later = _planned(home, technician, 60, 120)
    later.starts_at = NINE + timedelta(minutes=59)
    _refused(later.save)
    later.refresh_from_db()
    assert later.starts_at == NINE + timedelta(minutes=60)


def test_a_canceled_visit_does_not_come_back_over_other_work(
    home: Property, technician: Person
) -> None:
    dropped = _planned(home, technician, 0, 60, state=VisitState.CANCELED)
    _planned(home, technician, 30, 90)
    dropped.state = VisitState.BOOKED
    _refused(dropped.save)


def test_a_visit_moves_over_its_own_old_time(home: Property, technician: Person) -> None:
    visit = _planned(home, technician, 0, 60)
    visit.starts_at, visit.ends_at = NINE + timedelta(minutes=30), NINE + timedelta(minutes=90)
    visit.save()
    assert Visit.objects.get().starts_at == NINE + timedelta(minutes=30)


def test_another_technician_is_not_handed_overlapping_work(
    home: Property, technician: Person, other_technician: Person
) -> None:
    _planned(home, technician, 0, 60)
    other = _planned(home, other_technician, 0, 60)
    _refused(lambda: Visit.objects.filter(pk=other.pk).update(technician=technician))


# Bare writers insert first and check afterwards, so PostgreSQL may find two that wait for each
# other and end one of them; booking never gets there, it takes the shift's row first.
LOSSES = ("visit_no_overlap", "deadlock detected")


def _attempt(home: Property, technician: Person, gate: Barrier, start: int) -> bool:
    """Take the place from a thread and connection of its own; say whether it was won."""
    try:
        gate.wait(timeout=20)
        with transaction.atomic():
            _planned(home, technician, start, start + 45)
    except DatabaseError as error:
        assert any(reason in str(error) for reason in LOSSES), error
        return False
    else:
        return True
    finally:
        connection.close()


@pytest.mark.django_db(transaction=True)
def test_one_writer_wins_a_place_that_four_want_at_once(home: Property, technician: Person) -> None:
    for turn in range(ROUNDS):
        gate, start = Barrier(WRITERS), turn * 60
        with ThreadPoolExecutor(WRITERS) as writers:
            attempts = [
                writers.submit(_attempt, home, technician, gate, start + shift)
                for shift in range(WRITERS)
            ]
        assert sorted(one.result() for one in attempts) == [False] * (WRITERS - 1) + [True]
    assert Visit.objects.count() == ROUNDS
