"""Rows for tests, made straight through the tables: one plain function a thing.

Whatever a test does not say is filled in with something lawful and invented. Values that must be
unique are counted up, so that a function can be called any number of times.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.test import Client

from accounts.models import ApplicatorLicense, Branch, Contact, Customer, Person, RoleGrant
from accounts.permissions import Role
from scheduling.models import Renewal, Route, Shift, Visit
from sites.models import Pest, Property, TreatableZone
from sites.rules.addresses import address_key
from sites.rules.measurements import ZoneMeasure, zone_area
from sites.rules.places import Corners, Geometry, PestGroup, Place
from sites.rules.units import canonical
from treatments.models import (
    ApplicationRecord,
    LabelUse,
    LabelVerification,
    LabelVersion,
    Load,
    Product,
    ProductLot,
    ResidualWindow,
    TreatedArea,
)
from treatments.rules.products import Formulation, Method, RegistrationKind

PASSWORD = "a password for the suite only"
TODAY = date(2026, 11, 25)
_numbers = count(1)


def make_branch(name: str = "", state: str = "OH", **fields: Any) -> Branch:
    """A shop in Ohio unless said otherwise."""
    city = {"OH": "Columbus", "PA": "Erie"}.get(state, "Springfield")
    return Branch.objects.create(
        **{
            "name": name or f"Branch {next(_numbers)}",
            "state": state,
            "business_license_number": f"DEMO-{state}-1",
            "street": "1 Demonstration Way",
            "city": city,
            "zip_code": "43085",
            "phone": "+16145550100",
            "after_hours_phone": "+16145550101",
            "time_zone": "America/New_York",
        }
        | fields
    )


def make_person(
    roles: Iterable[Role] = (), branch: Branch | None = None, full_name: str = "", **fields: Any
) -> Person:
    """Somebody of the firm who signs in with `PASSWORD`; without roles they may do nothing."""
    number = next(_numbers)
    person = Person(
        email=fields.pop("email", f"person{number}@firm.example"),
        full_name=full_name or f"Invented Person {'ABCDEFGHIJ'[number % 10] * 2}",
        branch=branch or Branch.objects.order_by("pk").first() or make_branch(),
        **fields,
    )
    person.set_password(PASSWORD)
    person.save()
    RoleGrant.objects.bulk_create(RoleGrant(person=person, role=role) for role in roles)
    return person


def make_license(
    person: Person, state: str = "OH", kind: str = "certified", **fields: Any
) -> ApplicatorLicense:
    """A license in force over the whole of 2026 and 2027 unless said otherwise."""
    return ApplicatorLicense.objects.create(
        **{
            "person": person,
            "kind": kind,
            "number": f"DEMO-{next(_numbers):05d}",
            "state": state,
            "categories": "10a",
            "issued_on": date(2026, 1, 1),
            "expires_on": date(2027, 12, 31),
        }
        | fields
    )


def make_customer(branch: Branch, name: str = "", **fields: Any) -> Customer:
    """A residential customer of the branch."""
    return Customer.objects.create(
        **{
            "branch": branch,
            "name": name or f"Customer {next(_numbers)}",
            "kind": Customer.Kind.RESIDENTIAL,
            "billing_address": "PO Box 1, Columbus, OH 43085",
        }
        | fields
    )


def make_contact(customer: Customer, name: str = "Pat Example", **fields: Any) -> Contact:
    """The owner, with a telephone number and an e-mail address."""
    return Contact.objects.create(
        **{
            "customer": customer,
            "name": name,
            "phone": f"+1614555{next(_numbers) % 10000:04d}",
            "email": "owner@customer.example",
        }
        | fields
    )


def make_property(customer: Customer, street: str = "", **fields: Any) -> Property:
    """A service address of the customer, in the customer's branch and its state."""
    values = {
        "customer": customer,
        "branch": customer.branch,
        "street": street or f"{100 + next(_numbers)} Maple Street",
        "city": "Worthington",
        "county": "Franklin",
        "state": customer.branch.state,
        "zip_code": "43085",
        "latitude": Decimal("40.093400"),
        "longitude": Decimal("-83.018000"),
    } | fields
    key = address_key(values["street"], values["city"], values["state"], values["zip_code"])
    return Property.objects.create(address_key=key, **values)


def make_zone(
    place_of: Property,
    name: str = "",
    run: str = "120",
    up: str = "2",
    out: str = "3",
    **fields: Any,
) -> TreatableZone:
    """A foundation band of 120 ft, 2 ft up and 3 ft out: 600 sq ft."""
    unit = fields.get("length_unit", "ft")
    geometry = Geometry(fields.get("geometry", Geometry.BAND))
    corners = Corners(fields.get("corners", Corners.SIMPLE))
    lengths = [Decimal(text) for text in (run, up, out)]
    measure = ZoneMeasure(geometry, *lengths, unit=unit, corners=corners)
    in_mm = [canonical(length, unit) for length in lengths]
    return TreatableZone.objects.create(
        **{
            "property": place_of,
            "name": name or f"Foundation {next(_numbers)}",
            "place": Place.FOUNDATION_WALL,
            "wall_run": run,
            "height_up": up,
            "width_out": out,
            "wall_run_mm": in_mm[0],
            "height_up_mm": in_mm[1],
            "width_out_mm": in_mm[2],
            "area_mm2": canonical(zone_area(measure), "ft2"),
        }
        | fields
    )


def make_pest(common_name: str = "", group: str = PestGroup.GENERAL, **fields: Any) -> Pest:
    """A pest of the general group."""
    name = common_name or f"Invented pest {next(_numbers)}"
    return Pest.objects.create(common_name=name, group=group, **fields)


def make_product(name: str = "", **fields: Any) -> Product:
    """A demonstration concentrate with a demonstration registration number."""
    number = next(_numbers)
    return Product.objects.create(
        **{
            "name": name or f"Demonstration {number} SC",
            "registration_kind": RegistrationKind.SECTION3,
            "registration_number": f"99999-{100 + number % 100}",
            "formulation": Formulation.SC,
        }
        | fields
    )


def make_label(
    product: Product | None = None,
    *,
    pests: Sequence[Pest] = (),
    use: dict[str, Any] | None = None,
    is_verified: bool = True,
    **fields: Any,
) -> LabelUse:
    """A label in force since 2026 with one direction: a perimeter band, 90 days, 7 between.

    `use` overrides the direction, `fields` the label; 0.8 fl oz in 1 gal over 1,000 sq ft.
    """
    version = LabelVersion.objects.create(
        **{
            "product": product or make_product(),
            "label_date": date(2026, 1, 1),
            "effective_on": date(2026, 1, 1),
            "protective_equipment": "Long sleeves, long trousers, shoes and socks.",
            "reentry_text": "Keep people and pets off until dry.",
            "precautions": "Do not apply to water.",
        }
        | fields
    )
    direction = LabelUse.objects.create(
        **{
            "label_version": version,
            "title": "Outside perimeter band",
            "places": [Place.FOUNDATION_WALL, Place.SOIL_BAND],
            "methods": [Method.PERIMETER_BAND],
            "rate_max": Decimal("0.8"),
            "rate_unit": "fl_oz",
            "per_gallon": Decimal("0.8"),
            "gallons_per_1000": Decimal("1"),
            "residual_days": 90,
            "min_interval_days": 7,
            "page": "p. 3",
        }
        | (use or {})
    )
    direction.pests.set(pests or [make_pest()])
    if is_verified:
        LabelVerification.objects.create(
            label_version=version, verified_at=datetime(2026, 1, 2, tzinfo=UTC)
        )
    return direction


def make_record(
    zone: TreatableZone, applicator: Person, use: LabelUse | None = None, **fields: Any
) -> ApplicationRecord:
    """A bare record row of one treated zone: for guards and pages, without a leaf in the log."""
    place = zone.property
    applied_on = fields.get("applied_on", TODAY - timedelta(days=30))
    noon = datetime(applied_on.year, applied_on.month, applied_on.day, 17, 0, tzinfo=UTC)
    record = ApplicationRecord.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "client_digest": "0" * 64,
            "branch": place.branch,
            "branch_name": place.branch.name,
            "property": place,
            "city": place.city,
            "state": place.state,
            "zip_code": place.zip_code,
            "applicator": applicator,
            "label_version": use.label_version if use else None,
            "label_use": use,
            "product_name": use.label_version.product.name if use else "",
            "method": Method.PERIMETER_BAND,
            "product_amount": "0.48",
            "product_unit": "fl_oz",
            "product_ul": canonical(Decimal("0.48"), "fl_oz"),
            "area_mm2": zone.area_mm2,
            "applied_on": applied_on,
            "started_at": noon,
            "finished_at": noon + timedelta(minutes=20),
            "received_at": noon + timedelta(minutes=21),
            "retain_until": applied_on + timedelta(days=3 * 365),
            "approved_by": applicator if fields.get("entry") in ("correction", "void") else None,
        }
        | fields
    )
    TreatedArea.objects.create(
        record=record,
        zone=zone,
        zone_name=zone.name,
        place=zone.place,
        size="600",
        size_unit="ft2",
        area_mm2=zone.area_mm2,
    )
    return record


def make_window(record: ApplicationRecord, days: int = 90, **fields: Any) -> ResidualWindow:
    """The window of the record's treated zone, from its own day on."""
    area = record.treated_areas.get()
    return ResidualWindow.objects.create(
        **{
            "zone": area.zone,
            "pest_group": PestGroup.GENERAL,
            "treated_area": area,
            "claim_days": days,
            "days": days,
            "applied_on": record.applied_on,
            "opens_on": record.applied_on,
            "expires_on": record.applied_on + timedelta(days=days),
        }
        | fields
    )


def make_lot(use: LabelUse | None = None, **fields: Any) -> ProductLot:
    """A lot of 32 fl oz bottles of a label, received on the suite's day; nothing is on hand yet."""
    return ProductLot.objects.create(
        **{
            "label_version": (use or make_label()).label_version,
            "branch": fields.pop("branch", None) or make_branch(),
            "lot_number": f"L-{next(_numbers)}",
            "container_size": "32",
            "container_unit": "fl_oz",
            "received_on": TODAY,
            "dealer": "Demonstration Supply",
        }
        | fields
    )


def make_load(technician: Person, use: LabelUse | None = None, **fields: Any) -> Load:
    """A gallon with 1 fl oz of a label's product in it, mixed at noon UTC of the suite's day."""
    return Load.objects.create(
        **{
            "client_ref": uuid.uuid4(),
            "client_digest": "0" * 64,
            "branch": technician.branch,
            "technician": technician,
            "label_version": (use or make_label()).label_version,
            "product_amount": "1",
            "product_unit": "fl_oz",
            "product_ul": canonical(Decimal(1), "fl_oz"),
            "finished_amount": "1",
            "finished_unit": "gal",
            "finished_ul": canonical(Decimal(1), "gal"),
            "mixed_at": datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=UTC),
        }
        | fields
    )


def make_shift(technician: Person, weekday: int = TODAY.weekday(), **fields: Any) -> Shift:
    """Eight to five with half an hour for lunch."""
    return Shift.objects.create(technician=technician, weekday=weekday, **fields)


def make_route(technician: Person, day: date = TODAY, **fields: Any) -> Route:
    """The planned day of a technician, without stops."""
    planned = datetime(day.year, day.month, day.day, 3, tzinfo=UTC)
    return Route.objects.create(technician=technician, day=day, planned_at=planned, **fields)


def make_renewal(place: Property, **fields: Any) -> Renewal:
    """A renewal that is due, lapsing in two weeks."""
    return Renewal.objects.create(
        **{
            "property": place,
            "opens_on": TODAY,
            "due_on": TODAY,
            "lapses_on": TODAY + timedelta(days=14),
            "reason": "90 d label claim",
        }
        | fields
    )


def make_visit(
    place: Property, technician: Person, day: date = TODAY, hour: int = 14, **fields: Any
) -> Visit:
    """A booked visit promised for two hours from `hour` (UTC); its planned work is not set."""
    opens = datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
    return Visit.objects.create(
        **{
            "property": place,
            "technician": technician,
            "day": day,
            "window_opens_at": opens,
            "window_closes_at": opens + timedelta(hours=2),
        }
        | fields
    )


def client_for(person: Person | None) -> Client:
    """A signed-in test client, or an anonymous one for nobody."""
    client = Client()
    if person is not None:
        client.force_login(person)
    return client
