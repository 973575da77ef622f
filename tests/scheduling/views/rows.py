"""Renewals with zones and windows behind them, in any number, for the pages of the office."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from accounts.models import Branch, Person
from scheduling.models import Renewal, RenewalZone, VisitApplication
from scheduling.rules.visit_states import RenewalState
from sites.models import Property
from tests.factories import (
    TODAY,
    make_contact,
    make_customer,
    make_label,
    make_product,
    make_property,
    make_record,
    make_renewal,
    make_visit,
    make_window,
    make_zone,
)
from treatments.models import ApplicationRecord, LabelUse, ZoneProtection


def due_place(
    branch: Branch, applicator: Person, *, left: int = 9, zones: int = 2, **fields: Any
) -> Renewal:
    """A property whose zones were treated 90 - `left` days ago, and its renewal."""
    customer = make_customer(branch, fields.pop("customer", ""))
    make_contact(customer)
    place = make_property(customer, fields.pop("street", ""), **fields.pop("place", {}))
    renewal = make_renewal(place, lapses_on=TODAY + timedelta(days=left), **fields)
    for number in range(zones):
        zone = make_zone(place, f"Band {number + 1}")
        record = make_record(zone, applicator, applied_on=TODAY - timedelta(days=90 - left))
        window = make_window(record)
        ZoneProtection.objects.create(
            zone=zone, pest_group=window.pest_group, window=window, expires_on=window.expires_on
        )
        RenewalZone.objects.create(renewal=renewal, zone=zone, window=window)
    return renewal


def many_due(branch: Branch, applicator: Person, number: int) -> list[Renewal]:
    """So many properties, a third of them booked and a third declined."""
    states = (RenewalState.DUE, RenewalState.BOOKED, RenewalState.DECLINED)
    rows = []
    for n in range(number):
        renewal = due_place(branch, applicator, left=20 - n, state=states[n % 3])
        if renewal.state == RenewalState.BOOKED:
            day = TODAY + timedelta(days=1 + n)
            make_visit(renewal.property, applicator, day, renewal=renewal)
        rows.append(renewal)
    return rows


def used(place: Property, applicator: Person, product: str, **fields: Any) -> ApplicationRecord:
    """A record at a visit, with a registration number and an amount."""
    visit = make_visit(place, applicator, fields.get("applied_on", TODAY), state="done")
    use = LabelUse.objects.filter(label_version__product__name=product).first()
    use = use or make_label(make_product(product))
    record = make_record(
        make_zone(place),
        applicator,
        use,
        registration_number=use.label_version.product.registration_number,
        **{
            "applied_on": TODAY,
            "visit_ref": str(visit.ref),
            "finished_amount": "0.6",
            "finished_unit": "gal",
        }
        | fields,
    )
    VisitApplication.objects.create(visit=visit, record=record)
    return record
