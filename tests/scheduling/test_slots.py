"""Places of a branch: licenses, holidays, what a caller asks for, clock changes, the job."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest

from accounts.models import Person
from scheduling.models import SlotOffer, TimeOff
from scheduling.rules.public_holidays import holiday_name
from scheduling.selectors.slots import CustomerAsks, branch_days, choices_for
from scheduling.services.slot_offers import offer_slots
from sites.models import Property
from tests.factories import client_for, make_customer, make_property, make_renewal, make_shift
from tests.scheduling.bookings import NOW, book

pytestmark = pytest.mark.django_db


@pytest.fixture
def home(technician: Person) -> Property:
    for weekday in range(5):
        make_shift(technician, weekday)
    return make_property(make_customer(technician.branch))


def days(place: Property, now: datetime = NOW, asks: CustomerAsks | None = None) -> set[date]:
    found = choices_for(place, 45, branch_days(place.branch, now), asks=asks)
    return {one.day for one in found}


def test_three_weeks_of_working_days_without_the_public_holiday(home: Property) -> None:
    # Nov 25 2026 is a Wednesday; Nov 26 is Thanksgiving (fourth Thursday of November,
    # 5 U.S.C. 6103(a)); Friday 27 is no holiday in Ohio
    found = days(home)
    assert date(2026, 11, 26) not in found
    assert {one.day for one in found if one.month == 11} == {25, 27, 30}
    assert max(found) == date(2026, 12, 15)
    assert len(found) == 14
    assert date(2026, 11, 26) in days(home, asks=CustomerAsks(on_holidays=True))


@pytest.mark.parametrize(
    ("day", "state", "word"),
    [
        # 5 U.S.C. 6103(a) and (b): a holiday on a Saturday is kept on the Friday before
        (date(2026, 7, 3), "OH", "Independence Day (observed)"),
        (date(2026, 12, 25), "OH", "Christmas Day"),
        (date(2026, 11, 27), "OH", ""),
        (date(2026, 12, 24), "ZZ", ""),
        (date(2026, 12, 25), "ZZ", "Christmas Day"),
    ],
)
def test_holidays_are_those_of_the_library(day: date, state: str, word: str) -> None:
    assert holiday_name(day, state) == word


def test_no_place_without_license_or_in_time_off(home: Property, technician: Person) -> None:
    TimeOff.objects.create(
        technician=technician, starts_on=date(2026, 12, 1), ends_on=date(2026, 12, 15)
    )
    assert {one.day for one in days(home)} == {25, 27, 30}
    technician.licenses.update(expires_on=date(2026, 11, 27))
    assert {one.day for one in days(home)} == {25, 27}


def test_what_the_customer_asks_for_filters(home: Property) -> None:
    asks = CustomerAsks(weekdays=frozenset({1}), until=time(12), from_day=date(2026, 12, 2))
    found = choices_for(home, 45, branch_days(home.branch, NOW), asks=asks)
    assert {(one.day, one.opens) for one in found} == {
        (date(2026, 12, day), time(hour)) for day in (8, 15) for hour in (8, 10)
    }


def test_a_renewal_has_no_place_before_the_label_allows_the_return(home: Property) -> None:
    renewal = make_renewal(home, opens_on=date(2026, 12, 3))
    found = choices_for(home, 45, branch_days(home.branch, NOW), renewal=renewal)
    assert min(one.day for one in found) == date(2026, 12, 3)


@pytest.mark.parametrize("zone", ["America/New_York", "America/Chicago", "America/Denver"])
@pytest.mark.parametrize("day", [date(2026, 3, 8), date(2026, 11, 1)])
def test_windows_on_the_days_the_clock_is_changed(
    home: Property, technician: Person, zone: str, day: date
) -> None:
    # second Sunday of March, first Sunday of November: 15 U.S.C. 260a(a)
    make_shift(technician, 6)
    technician.licenses.update(issued_on=date(2026, 1, 1))
    home.branch.time_zone = zone
    home.branch.save()
    now = datetime(day.year, day.month, day.day, 6, tzinfo=UTC)
    found = choices_for(home, 45, branch_days(home.branch, now))
    of_day = [one for one in found if one.day == day]
    assert {one.opens for one in of_day} == {time(8), time(10), time(12), time(14)}
    # seconds since midnight: an hour fewer or more than the clock shows
    shift = -3600 if day.month == 3 else 3600
    assert {one.start_s - one.opens.hour * 3600 - shift for one in of_day} <= set(range(7200))


def test_a_place_that_is_taken_is_not_offered_again(home: Property, technician: Person) -> None:
    technician.licenses.update(expires_on=date(2026, 11, 27))
    before = choices_for(home, 45, branch_days(home.branch, NOW))
    book(technician, property_id=home.pk, minutes=240, window_opens=time(8), window_closes=time(9))
    after = choices_for(home, 45, branch_days(home.branch, NOW))
    friday = date(2026, 11, 27)
    assert {one.opens for one in before if one.day == friday} == {
        time(8),
        time(10),
        time(12),
        time(14),
    }
    assert {one.opens for one in after if one.day == friday} == {time(12), time(14)}


def test_the_job_keeps_the_best_place_and_a_booking_takes_the_day_away(
    home: Property, technician: Person, office: Person
) -> None:
    renewal = make_renewal(home, opens_on=date(2026, 11, 1))
    assert offer_slots(now=NOW) == 1
    offer = SlotOffer.objects.get()
    best = choices_for(home, 45, branch_days(home.branch, NOW), renewal=renewal)[0]
    assert (offer.day, offer.window_opens, offer.made_at) == (best.day, best.opens, NOW)
    assert offer_slots(now=NOW) == SlotOffer.objects.count() == 1
    other = make_property(home.customer)
    book(
        technician,
        property_id=other.pk,
        day=offer.day,
        window_opens=offer.window_opens,
        window_closes=offer.window_closes,
    )
    assert not SlotOffer.objects.exists()


def test_the_page_reads_out_three_offers_and_books_with_one_post(
    home: Property, office: Person
) -> None:
    client = client_for(office)
    renewal = make_renewal(home)
    page = client.get(f"/renewals/{renewal.pk}/slots/")
    assert page.status_code == 200
    assert "We could come on" in page.content.decode()
    first = page.context["sheet"].rows[0]
    answer = client.post(f"/renewals/{renewal.pk}/book/", first.fields)
    assert answer.status_code == 302
    renewal.refresh_from_db()
    assert renewal.state == "booked"
    assert client.get(f"/properties/{home.pk}/slots/?half=pm").status_code == 200
