"""Shifts and time off, and the booked visits they would leave without a technician."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any

import pytest
from django.http import Http404

from accounts.models import Branch, OpenItem, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling.models import Shift, TimeOff, Visit
from scheduling.selectors.days import work_days
from scheduling.services.shifts import add_time_off, remove_shift, remove_time_off, set_shift
from tests.factories import make_customer, make_person, make_property, make_shift, make_visit

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
DAY = date(2026, 11, 27)


def give(technician: Person, by: Person | None, **hours: Any) -> Shift:
    wanted = {"weekday": 4, "starts": time(8), "ends": time(16)} | hours
    return set_shift(technician_id=technician.pk, by=by, now=NOW, **wanted)


def test_a_shift_set_again_replaces_the_first(technician: Person, office: Person) -> None:
    give(technician, office)
    give(technician, office, starts=time(7))
    shift = Shift.objects.get()
    assert (shift.starts, shift.ends, shift.lunch_minutes) == (time(7), time(16), 30)
    remove_shift(shift_id=shift.pk, by=office, now=NOW)
    assert Shift.objects.count() == 0


@pytest.mark.parametrize(
    ("hours", "code"),
    [
        ({"ends": time(8)}, "shift"),
        ({"starts": time(17)}, "shift"),
        ({"weekday": 7}, "weekday"),
        ({"lunch_from": time(13), "lunch_until": time(12)}, "lunch"),
        ({"lunch_from": time(18), "lunch_until": time(19)}, "lunch"),
        ({"lunch_minutes": -1}, "lunch"),
        ({"lunch_minutes": 121}, "lunch"),
    ],
)
def test_hours_that_cannot_be_meant_are_refused(
    technician: Person, office: Person, hours: dict[str, Any], code: str
) -> None:
    with pytest.raises(Refused) as refused:
        give(technician, office, **hours)
    assert refused.value.code == code
    assert Shift.objects.count() == 0


def test_only_technicians_within_reach_get_shifts(
    technician: Person, office: Person, branch_penn: Branch
) -> None:
    with pytest.raises(Refused) as refused:
        give(office, office)
    assert refused.value.code == "no_technician"
    with pytest.raises(Http404):
        give(make_person([Role.TECHNICIAN], branch_penn), office)
    with pytest.raises(Refused) as refused:
        give(technician, technician)
    assert refused.value.code == "not_permitted"


def off(technician: Person, by: Person | None, first: date, last: date, **more: Any) -> TimeOff:
    return add_time_off(
        technician_id=technician.pk, starts_on=first, ends_on=last, by=by, now=NOW, **more
    )


def test_time_off_names_the_booked_visits_inside(technician: Person, office: Person) -> None:
    home = make_property(make_customer(technician.branch))
    inside = make_visit(home, technician, DAY)
    make_visit(home, technician, DAY, state="canceled")
    make_visit(home, technician, date(2026, 11, 30))
    with pytest.raises(Refused) as refused:
        off(technician, office, DAY, date(2026, 11, 29))
    assert refused.value.code == "visits_inside"
    assert refused.value.facts["visits"] == [inside]
    assert "has 1 booked visit on these days (Nov 27, 2026)" in refused.value.sentence
    assert TimeOff.objects.count() == 0


def test_visits_kept_inside_time_off_become_open_items(technician: Person, office: Person) -> None:
    home = make_property(make_customer(technician.branch))
    make_visit(home, technician, DAY)
    absence = off(technician, office, DAY, DAY, keep_visits=True)
    assert OpenItem.objects.get().code == "visit_in_time_off"
    assert Visit.objects.get().state == "booked"
    assert remove_time_off(time_off_id=absence.pk, by=office, now=NOW).technician == technician
    assert TimeOff.objects.count() == 0


@pytest.mark.parametrize("last", [date(2026, 11, 26), date(2027, 11, 28)])
def test_days_in_the_wrong_order_or_too_many_are_refused(
    technician: Person, office: Person, last: date
) -> None:
    with pytest.raises(Refused) as refused:
        off(technician, office, DAY, last)
    assert refused.value.code == "time_off"


def test_a_work_day_knows_shift_time_off_and_visits(
    technician: Person, other_technician: Person, django_assert_num_queries: Any
) -> None:
    make_shift(technician, 4)
    make_shift(other_technician, 4)
    off(other_technician, None, DAY, DAY)
    visit = make_visit(make_property(make_customer(technician.branch)), technician, DAY)
    with django_assert_num_queries(3):
        found = work_days([technician, other_technician], [DAY, date(2026, 11, 28)])
    assert found[technician.pk, DAY].is_working
    assert found[technician.pk, DAY].visits == (visit,)
    assert found[technician.pk, DAY].planned == ()
    assert not found[other_technician.pk, DAY].is_working
    assert not found[technician.pk, date(2026, 11, 28)].is_working
