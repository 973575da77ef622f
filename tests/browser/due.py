"""A small firm as of the day it really is: one property whose band lapses in nine days."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from accounts.models import Person
from scheduling.models import Renewal, RenewalZone
from tests.factories import (
    make_contact,
    make_customer,
    make_license,
    make_property,
    make_record,
    make_renewal,
    make_shift,
    make_window,
    make_zone,
)
from treatments.models import ZoneProtection

CLAIM, LEFT = timedelta(days=90), timedelta(days=9)


def today() -> date:
    """The day it is in Columbus."""
    return timezone.localdate(timezone=ZoneInfo("America/New_York"))


def due_now(technician: Person) -> Renewal:
    """A renewal that waits, and a technician who works every day with a license in force."""
    day = today()
    make_license(technician, issued_on=day - CLAIM * 2, expires_on=day + CLAIM * 4)
    for weekday in range(7):
        make_shift(technician, weekday)
    customer = make_customer(technician.branch, "Nadia Castellane")
    make_contact(customer)
    zone = make_zone(make_property(customer, "14 Heron Lane"), "Foundation band")
    window = make_window(make_record(zone, technician, applied_on=day - CLAIM + LEFT))
    ZoneProtection.objects.create(
        zone=zone, pest_group=window.pest_group, window=window, expires_on=window.expires_on
    )
    renewal = make_renewal(zone.property, opens_on=day, due_on=day, lapses_on=day + LEFT)
    RenewalZone.objects.create(renewal=renewal, zone=zone, window=window)
    return renewal
