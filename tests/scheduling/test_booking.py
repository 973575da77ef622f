"""Booking: a place among the planned work, or a sentence that says what to do."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.http import Http404

from accounts.models import AuditEvent, Branch, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from scheduling.models import Shift, TimeOff, Visit
from scheduling.rules.visit_states import RenewalState, VisitKind
from scheduling.services.booking import book_visit
from scheduling.services.places import FreePlace
from sites.models import Property
from tests.factories import (
    make_customer,
    make_license,
    make_person,
    make_property,
    make_renewal,
    make_shift,
)
from tests.scheduling.bookings import DAY, NOW, book

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


@pytest.fixture
def friday(technician: Person) -> Shift:
    return make_shift(technician, DAY.weekday())


def refusal(technician: Person, **asked: Any) -> Refused:
    with pytest.raises(Refused) as refused:
        book(technician, **asked)
    assert not Visit.objects.exclude(note="stands").exists()
    return refused.value


def test_a_booking_is_placed_inside_its_window(
    home: Property, technician: Person, office: Person, friday: Shift
) -> None:
    visit = book(technician, office, property_id=home.pk, kind=VisitKind.FIRST_SERVICE)
    # no coordinates of the shop are known, so the drive is the flat 20 minutes from 8:00;
    # the work begins when the window opens, at 9:00 or 14:00 UTC
    assert visit.starts_at == visit.window_opens_at == datetime(2026, 11, 27, 14, tzinfo=UTC)
    assert visit.ends_at == datetime(2026, 11, 27, 14, 45, tzinfo=UTC)
    assert (visit.state, visit.kind, visit.created_by) == ("booked", "first_service", office)
    assert AuditEvent.objects.get(act="book_visit").person_id == str(office.pk)


def test_the_next_one_follows_with_its_drive_and_moves_nothing(
    home: Property, technician: Person, friday: Shift
) -> None:
    first = book(technician, property_id=home.pk)
    other = make_property(home.customer, latitude=None, longitude=None)
    second = book(technician, property_id=other.pk)
    first.refresh_from_db()
    assert first.starts_at == datetime(2026, 11, 27, 14, tzinfo=UTC)
    # 9:45 and the flat drive of 20 minutes
    assert second.starts_at == datetime(2026, 11, 27, 15, 5, tzinfo=UTC)


def test_lunch_keeps_its_place(home: Property, technician: Person, friday: Shift) -> None:
    book(
        technician, property_id=home.pk, window_opens=time(11), window_closes=time(12), minutes=120
    )
    other = make_property(home.customer)
    # the first ends at 13:00; a second one at once would leave no lunch before 13:30
    second = book(technician, property_id=other.pk, window_opens=time(13), window_closes=time(15))
    assert second.starts_at is not None
    assert second.starts_at >= datetime(2026, 11, 27, 18, 30, tzinfo=UTC)


def test_no_place_says_why_and_offers_the_next_three_days(
    home: Property, technician: Person, friday: Shift
) -> None:
    for weekday in (0, 1, 2):
        make_shift(technician, weekday)
    book(technician, property_id=home.pk, minutes=240, note="stands")
    refused = refusal(technician, property_id=make_property(home.customer).pk)
    assert refused.code == "no_place"
    assert refused.sentence == (
        "Terry Technician, Nov 27, 2026: No place is left between the visits planned on this day. "
        "Choose one of the next days with a place, another window or another technician."
    )
    choices: Any = refused.facts["choices"]
    assert [one.day for one in choices] == [
        date(2026, 11, 30),
        date(2026, 12, 1),
        date(2026, 12, 2),
    ]
    assert choices[0] == FreePlace(
        date(2026, 11, 30), time(9), time(11), datetime(2026, 11, 30, 14, tzinfo=UTC)
    )


def test_every_offered_place_can_be_booked(
    home: Property, technician: Person, friday: Shift
) -> None:
    make_shift(technician, 0)
    book(technician, property_id=home.pk, minutes=240, note="stands")
    asked = {"property_id": make_property(home.customer).pk}
    for one in refusal(technician, **asked).facts["choices"]:  # type: ignore[attr-defined]
        visit = book(
            technician, day=one.day, window_opens=one.opens, window_closes=one.closes, **asked
        )
        assert visit.starts_at == one.starts
        visit.delete()


def test_a_license_that_is_over_is_named_with_its_last_day(
    home: Property, technician: Person, friday: Shift
) -> None:
    technician.licenses.update(expires_on=date(2026, 11, 26), number="ENDED-7")
    refused = refusal(technician, property_id=home.pk)
    assert refused.code == "no_license"
    assert refused.sentence == (
        "Terry Technician's OH license ENDED-7 expires on Nov 26, 2026 and is not in force on "
        "Nov 27, 2026. Renew the license and enter its new dates, or choose another technician."
    )


def test_a_license_counts_on_its_last_day(
    home: Property, technician: Person, friday: Shift
) -> None:
    technician.licenses.update(expires_on=DAY)
    assert book(technician, property_id=home.pk).pk


def test_the_license_of_the_state_of_the_property_is_asked_for(
    technician: Person, friday: Shift
) -> None:
    over_there = make_property(make_customer(technician.branch), state="PA", zip_code="16501")
    assert "has no PA license" in refusal(technician, property_id=over_there.pk).sentence
    make_license(technician, "PA")
    assert book(technician, property_id=over_there.pk).pk


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"minutes": 0}, "minutes"),
        ({"minutes": 481}, "minutes"),
        ({"window_opens": time(11), "window_closes": time(9)}, "window"),
        ({"window_opens": time(9), "window_closes": time(9)}, "window"),
        ({"day": date(2026, 11, 24)}, "past"),
        ({"day": date(2026, 11, 25), "window_closes": time(9, 59)}, "past"),
        ({"day": date(2028, 1, 7)}, "too_far_ahead"),
        ({"day": date(9999, 12, 31)}, "too_far_ahead"),
        ({"day": date(2026, 11, 28)}, "no_shift"),
        ({"window_opens": time(18), "window_closes": time(20)}, "no_shift"),
    ],
)
def test_what_cannot_be_meant_is_refused(
    home: Property, technician: Person, friday: Shift, asked: dict[str, Any], code: str
) -> None:
    assert refusal(technician, property_id=home.pk, **asked).code == code


def test_a_closed_account_is_refused(home: Property, technician: Person, friday: Shift) -> None:
    home.customer.status = "closed"
    home.customer.save()
    assert refusal(technician, property_id=home.pk).code == "closed_account"


def test_time_off_is_refused(home: Property, technician: Person, friday: Shift) -> None:
    TimeOff.objects.create(technician=technician, starts_on=DAY, ends_on=DAY + timedelta(days=2))
    refused = refusal(technician, property_id=home.pk)
    assert refused.code == "time_off"
    assert "until Nov 29, 2026" in refused.sentence


def test_only_active_technicians_of_the_branch(
    home: Property, technician: Person, branch_penn: Branch, friday: Shift
) -> None:
    away = make_person([Role.TECHNICIAN], branch_penn)
    assert refusal(away, property_id=home.pk).code == "other_branch"
    clerk = make_person([Role.OFFICE], home.branch)
    assert refusal(clerk, property_id=home.pk).code == "no_technician"
    Person.objects.filter(pk=technician.pk).update(is_active=False)
    assert refusal(technician, property_id=home.pk).code == "no_technician"


def test_a_property_of_another_branch_is_not_found(
    technician: Person, office: Person, branch_penn: Branch, friday: Shift
) -> None:
    away = make_property(make_customer(branch_penn))
    with pytest.raises(Http404):
        book(technician, office, property_id=away.pk)
    with pytest.raises(Http404):
        book(technician, office, renewal_id=make_renewal(away).pk)
    with pytest.raises(Http404):
        book(technician, office, property_id=10**9)


def test_a_technician_may_not_book(home: Property, technician: Person) -> None:
    assert refusal(technician, property_id=home.pk, by=technician).code == "not_permitted"


def test_a_renewal_is_booked_once(home: Property, technician: Person, friday: Shift) -> None:
    renewal = make_renewal(home)
    book(technician, renewal_id=renewal.pk)
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.BOOKED
    with pytest.raises(Refused) as refused:
        book(technician, renewal_id=renewal.pk)
    assert refused.value.code == "just_taken"
    assert Visit.objects.count() == 1


@pytest.mark.parametrize("state", ["done", "declined", "withdrawn"])
def test_a_closed_renewal_is_not_booked(
    home: Property, technician: Person, friday: Shift, state: str
) -> None:
    renewal = make_renewal(home, state=state)
    assert refusal(technician, renewal_id=renewal.pk).code == "renewal_state"


def test_a_refused_booking_leaves_the_renewal_due(
    home: Property, technician: Person, friday: Shift
) -> None:
    book(technician, property_id=home.pk, minutes=240, note="stands")
    renewal = make_renewal(home)
    assert refusal(technician, renewal_id=renewal.pk).code == "no_place"
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.DUE


def test_before_the_label_allows_the_return_is_too_early(
    home: Property, technician: Person, friday: Shift
) -> None:
    renewal = make_renewal(home, opens_on=DAY + timedelta(days=1))
    refused = refusal(technician, renewal_id=renewal.pk)
    assert (refused.code, refused.facts["opens_on"]) == ("too_early", date(2026, 11, 28))


def test_today_begins_now(home: Property, technician: Person) -> None:
    make_shift(technician, NOW.weekday())
    at = NOW.replace(hour=14, minute=30, second=20)
    visit = book_visit(
        technician_id=technician.pk,
        day=at.date(),
        window_opens=time(9),
        window_closes=time(11),
        minutes=30,
        property_id=home.pk,
        by=None,
        now=at,
    )
    assert visit.starts_at == at.replace(minute=31, second=0)


@pytest.mark.parametrize(
    ("day", "hour"), [(date(2027, 3, 14), 13), (date(2026, 11, 1), 14)], ids=["spring", "autumn"]
)
def test_the_day_the_clock_changes_keeps_wall_hours(
    home: Property, technician: Person, day: date, hour: int
) -> None:
    """2027-03-14 and 2026-11-01 are the changes in the United States (15 U.S.C. 260a)."""
    make_shift(technician, day.weekday(), starts=time(1), ends=time(12), lunch_minutes=0)
    visit = book_visit(
        technician_id=technician.pk,
        day=day,
        window_opens=time(9),
        window_closes=time(10),
        minutes=30,
        property_id=home.pk,
        by=None,
        now=datetime(2026, 10, 20, tzinfo=UTC),
    )
    assert visit.starts_at == datetime(day.year, day.month, day.day, hour, tzinfo=UTC)


def test_an_hour_the_clock_leaves_out_is_refused(home: Property, technician: Person) -> None:
    refused = refusal(
        technician, property_id=home.pk, day=date(2027, 3, 14), window_opens=time(2, 30)
    )
    assert refused.code == "window"
    assert "2:30 AM does not exist on Mar 14, 2027" in refused.sentence


def test_a_day_that_does_not_fit_any_more_asks_to_plan_again(
    home: Property, technician: Person, friday: Shift
) -> None:
    book(technician, property_id=home.pk, note="stands")
    Shift.objects.update(starts=time(10))
    refused = refusal(technician, property_id=home.pk, window_closes=time(15))
    assert "Plan the day again first" in refused.sentence
