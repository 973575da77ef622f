"""A fifth use that is never proposed, and a due item of November that becomes an inspection."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from accounts.models import Person
from accounts.permissions import Role
from scheduling.models import Renewal, RenewalZone, Visit
from scheduling.rules.visit_states import RenewalState, VisitKind, VisitState, Work
from scheduling.services.sweep import sweep
from scheduling.services.visits import close_renewal_of
from sites.models import Property, TreatableZone
from sites.rules.places import PestGroup
from tests.factories import (
    client_for,
    make_customer,
    make_label,
    make_person,
    make_product,
    make_property,
    make_record,
    make_shift,
    make_window,
    make_zone,
)
from tests.scheduling.bookings import DAY, book
from treatments.models import LabelUse, ResidualWindow
from treatments.services.protections import refresh_protections

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
TODAY = NOW.date()


@pytest.fixture
def home(technician: Person) -> Property:
    return make_property(make_customer(technician.branch))


@pytest.fixture
def label() -> LabelUse:
    """A label that allows four uses in a calendar year."""
    return make_label(make_product("Demonstration U SC"), use={"uses_per_year": 4})


def treat(
    zone: TreatableZone, technician: Person, use: LabelUse, on: date, days: int = 60, **fields: str
) -> ResidualWindow:
    window = make_window(make_record(zone, technician, use, applied_on=on), days, **fields)
    refresh_protections([zone.pk])
    return window


def test_a_fifth_use_is_never_proposed(home: Property, technician: Person, label: LabelUse) -> None:
    zone = make_zone(home, "Foundation")
    for on in (date(2026, 2, 1), date(2026, 4, 2), date(2026, 8, 1), date(2026, 10, 5)):
        treat(zone, technician, label, on)
    # 60 days from October 5 are December 4; a week before it is November 27
    sweep(today=TODAY, now=NOW)
    renewal = Renewal.objects.get()
    assert (renewal.work, renewal.due_on) == (Work.LOOK, date(2026, 11, 27))
    assert renewal.reason == (
        "Foundation: 60 d label claim from Oct 5, lapses Dec 4, 4 of 4 uses of Demonstration U SC "
        "in 2026 are made or booked: none is proposed before Jan 1, 2027"
    )
    page = client_for(make_person([Role.OFFICE], technician.branch)).get("/renewals/")
    assert "Inspect first" in page.content.decode()

    # whoever books it books an inspection; it is done without a treatment
    make_shift(technician, DAY.weekday())
    visit = book(technician, renewal_id=renewal.pk)
    assert visit.kind == VisitKind.INSPECTION
    Visit.objects.filter(pk=visit.pk).update(state=VisitState.DONE)
    close_renewal_of(visit_id=visit.pk, by=None, now=NOW)
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.DONE
    assert renewal.closing_note == "Inspected; no treatment: no use of the product was left."
    assert sweep(today=date(2026, 12, 31), now=NOW).is_quiet

    # the new year has four uses again: it comes back as a treatment
    assert sweep(today=date(2027, 1, 1), now=NOW).opened == 1
    again = Renewal.objects.get(state=RenewalState.DUE)
    assert again.work == Work.TREAT
    assert "use 1 of 4 in 2027, next after that Mar 2" in again.reason  # 60 days from January 1


def test_a_waiting_one_becomes_a_treatment_with_the_new_year(
    home: Property, technician: Person, label: LabelUse
) -> None:
    zone = make_zone(home)
    for on in (date(2026, 2, 1), date(2026, 4, 2), date(2026, 8, 1), date(2026, 10, 5)):
        treat(zone, technician, label, on)
    sweep(today=TODAY, now=NOW)
    assert sweep(today=date(2026, 12, 31), now=NOW).is_quiet
    sweep(today=date(2027, 1, 1), now=NOW)
    renewal = Renewal.objects.get()
    assert renewal.work == Work.TREAT
    assert "use 1 of 4 in 2027" in renewal.reason
    assert sweep(today=date(2027, 1, 2), now=NOW).is_quiet


def test_the_third_of_four_names_the_next(
    home: Property, technician: Person, label: LabelUse
) -> None:
    zone = make_zone(home)
    for on in (date(2026, 8, 1), date(2026, 9, 25)):
        treat(zone, technician, label, on)
    sweep(today=TODAY, now=NOW)
    renewal = Renewal.objects.get()
    # lapsed November 24: due today, November 25; 60 days on is January 24
    assert renewal.work == Work.TREAT
    assert renewal.reason.endswith("use 3 of 4 in 2026, next after that Jan 24, 2027")


def test_a_zone_without_a_use_left_does_not_ride_along(
    home: Property, technician: Person, label: LabelUse
) -> None:
    pressing, rider = make_zone(home, "Eaves"), make_zone(home, "Foundation")
    free = make_label(make_product("Demonstration V SC"))
    treat(pressing, technician, free, TODAY - timedelta(days=70), 90)
    treat(rider, technician, label, date(2026, 10, 21), 70)  # lapses December 30: outside 30 days
    sweep(today=TODAY, now=NOW)
    assert RenewalZone.objects.count() == 2  # one use of four made: it rides along
    Renewal.objects.all().delete()
    for on in (date(2026, 2, 1), date(2026, 4, 2), date(2026, 8, 1)):
        treat(rider, technician, label, on)
    refresh_protections([rider.pk])
    sweep(today=TODAY, now=NOW)
    assert [line.zone for line in RenewalZone.objects.all()] == [pressing]


def test_a_booked_visit_counts_as_a_use(
    home: Property, technician: Person, label: LabelUse
) -> None:
    zone = make_zone(home)
    for on in (date(2026, 2, 1), date(2026, 4, 2)):
        treat(zone, technician, label, on)
    treat(zone, technician, label, date(2026, 9, 25))
    sweep(today=TODAY, now=NOW)
    make_shift(technician, DAY.weekday())
    book(technician, renewal_id=Renewal.objects.get().pk)
    # another pest group of the same zone, treated the same day: three uses made, one booked
    other = make_record(zone, technician, label, applied_on=date(2026, 9, 25))
    make_window(other, 65, pest_group=PestGroup.SPIDERS)
    refresh_protections([zone.pk])
    sweep(today=TODAY, now=NOW)
    waiting = Renewal.objects.get(state=RenewalState.DUE)
    assert waiting.work == Work.LOOK


def test_a_due_item_of_november_becomes_an_inspection(
    home: Property, technician: Person, label: LabelUse
) -> None:
    """The season withdraws the treatment against autumn invaders; an inspection is left."""
    zone = make_zone(home, "South wall")
    treat(zone, technician, label, date(2026, 9, 20), 75, pest_group=PestGroup.OVERWINTERING)
    sweep(today=date(2026, 11, 25), now=NOW)
    renewal = Renewal.objects.get()
    assert renewal.work == Work.INSPECT
    assert "inspect and seal, do not treat: from Nov 1 the insects are inside" in renewal.reason
    make_shift(technician, DAY.weekday())
    assert book(technician, renewal_id=renewal.pk).kind == VisitKind.INSPECTION
