"""An example of every thing an address can name: an own one and somebody else's."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from django.contrib.auth.tokens import default_token_generator
from django.utils import timezone
from django.utils.http import urlsafe_base64_encode

from accounts.models import ContactLink, InspectorVisit, Person
from accounts.selectors.inspectors import digest_of
from accounts.services.audit import open_item
from scheduling.models import TimeOff, VisitApplication, VisitIdentification
from sites.models import (
    CorrectiveAction,
    DeviceThreshold,
    Preference,
    Property,
    PropertyAccess,
    SiteCaution,
    Trait,
    Unit,
)
from tests.devices import make_device
from tests.evidence import make_identification
from tests.factories import (
    make_contact,
    make_customer,
    make_label,
    make_load,
    make_property,
    make_record,
    make_renewal,
    make_shift,
    make_visit,
    make_window,
    make_zone,
)
from tests.inspection_cases import (
    make_finding,
    make_photo,
    make_report,
    make_round,
    make_task,
)
from tests.logbooks import make_sighting
from tests.notices import make_notice
from tests.outlines import make_water
from tests.papers import make_firm_paper, make_training
from treatments.models import (
    ActiveIngredient,
    CorrectionRequest,
    Equipment,
    JurisdictionProfile,
    LabelFile,
    LabelLimit,
    LabelProtection,
    LabelUse,
    LabelVersion,
    Product,
    ProductIngredient,
    RetentionHold,
    StockMove,
    UnlistedUseDecision,
)
from treatments.rules.incidents import NewIncident
from treatments.services.incidents import report_incident
from treatments.services.profiles import load_profiles
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place

Examples = dict[str, int | str]


def _at_the_property(technician: Person, use: LabelUse, zone_name: str) -> Examples:
    """The things of one customer with a stop of the technician today."""
    today = timezone.now().date()
    customer = make_customer(technician.branch)
    place = make_property(customer)
    zone = make_zone(place, zone_name)
    PropertyAccess.objects.create(property=place, gate_code="4711")
    renewal = make_renewal(place)
    noon = datetime(today.year, today.month, today.day, 17, tzinfo=UTC)
    visit = make_visit(
        place, technician, today, starts_at=noon, ends_at=noon + timedelta(minutes=45)
    )
    hour_ago = timezone.now() - timedelta(hours=1)
    record = make_record(
        zone, technician, use, visit_ref=str(visit.ref), applied_on=today,
        started_at=hour_ago, finished_at=hour_ago + timedelta(minutes=20),
        received_at=hour_ago + timedelta(minutes=21),
    )  # fmt: skip
    VisitApplication.objects.create(visit=visit, record=record)
    window = make_window(record)
    preference = Preference.objects.create(
        property=place, kind="call_first", said_by="Pat Example", said_on=today
    )
    caution = SiteCaution.objects.create(property=place, kind="dog")
    question = UnlistedUseDecision.objects.create(
        property=place, label_use=use, method="spot", created_by=technician
    )
    correction = CorrectionRequest.objects.create(
        record=record,
        changes=[{"field": "wind_mph", "old": "", "new": "4"}],
        reason="Read late.",
        created_by=technician,
    )
    incident = report_incident(
        incident=NewIncident(
            client_ref=uuid.uuid4(),
            kind="spill",
            happened_at=timezone.now(),
            what="A cup of spray on the walk.",
            property_id=place.pk,
            record_ids=(record.pk,),
        ),
        by=technician,
        now=timezone.now(),
    )
    identification = make_identification(place, technician, visit_ref=str(visit.ref))
    VisitIdentification.objects.create(visit=visit, identification=identification)
    link = ContactLink.objects.create(
        contact=make_contact(customer, "Lee Example"),
        property_ref=place.pk,
        token_sha256=digest_of(f"logbook-of-{place.pk}"),
        expires_at=timezone.now() + timedelta(hours=1),
    )
    sighting = make_sighting(place, seen_on=today)
    action = CorrectiveAction.objects.create(
        property=place, what="Fit a door sweep.", spot="Dock", side="customer", asked_on=today
    )
    device = make_device(place)
    threshold = DeviceThreshold.objects.create(property=place, kind=device.kind, count_from=2)
    hold = RetentionHold.objects.create(record=record, reason="A claim.")
    return {
        "notice": make_notice(record).pk,
        "notice_kind": "copy",
        "incident": incident.pk,
        "identification": identification.pk,
        "taxon": identification.taxon_id,
        "trait": _question(),
        "device": device.pk,
        "threshold": threshold.pk,
        "hold": hold.pk,
        "incident_hold": incident.own_holds.create(reason="A claim.").pk,
        "question": question.pk,
        "correction": correction.pk,
        "customer": customer.pk,
        "contact": make_contact(customer).pk,
        "property": place.pk,
        "zone": zone.pk,
        "water": make_water(place).pk,
        "unit": Unit.objects.create(property=place, number="1A").pk,
        "preference": preference.pk,
        "caution": caution.pk,
        "record": record.pk,
        "window": window.pk,
        "renewal": renewal.pk,
        "visit": visit.pk,
        "contact_link": link.pk,
        "contact_token": f"logbook-of-{place.pk}",
        "sighting": sighting.pk,
        "action": action.pk,
        **_looked_at(place),
    }


def _looked_at(place: Property) -> Examples:
    """A round with a finding, its task, a photo and a kept report."""
    inspection = make_round(place)
    finding = make_finding(inspection, "4")
    return {
        "round": inspection.pk,
        "finding": finding.pk,
        "task": make_task(finding).pk,
        "photo": make_photo(finding).pk,
        "kept_report": make_report(inspection).pk,
    }


def _question() -> int:
    trait, _ = Trait.objects.get_or_create(
        code="feet", defaults={"name": "Feet", "question": "Which feet?", "position": 0}
    )
    return trait.pk


def _of_the_label(use: LabelUse) -> Examples:
    """The things of one label that is used, and of one that is still being entered."""
    version = use.label_version
    _ingredient(version.product)
    pdf = b"%PDF-1.7"
    LabelFile.objects.create(
        label_version=version, kind="label", name="label.pdf", content=pdf, size=len(pdf)
    )
    LabelVersion.objects.filter(pk=version.pk).update(
        pages={"protective_equipment": "p. 2", "reentry_text": "p. 2", "precautions": "p. 1"}
    )
    return {
        "label": version.pk,
        "product": version.product_id,
        "file_kind": "label",
        "profile": _of_the_firm(),
        **_being_entered(),
    }


def _of_the_firm() -> int:
    load_profiles()
    return JurisdictionProfile.objects.get(code="US-OH").pk


def _ingredient(product: Product) -> ProductIngredient:
    demothrin, _ = ActiveIngredient.objects.get_or_create(common_name="demothrin")
    row, _ = ProductIngredient.objects.get_or_create(
        product=product, ingredient=demothrin, defaults={"percent_by_weight": 8}
    )
    return row


def _being_entered() -> Examples:
    """The things of a label that still changes."""
    use = make_label(is_verified=False, is_draft=True)
    version = use.label_version
    limit = LabelLimit.objects.create(
        label_version=version,
        fact="wind",
        comparison="at_most",
        limit=10,
        severity="refuse",
        sentence="Not in wind above 10 mph.",
        page="p. 6",
    )
    gloves = LabelProtection.objects.create(
        label_version=version, task="apply", item="Gloves", page="p. 2"
    )
    return {
        "draft": version.pk,
        "draft_product": version.product_id,
        "ingredient": _ingredient(version.product).pk,
        "direction": use.pk,
        "limit": limit.pk,
        "protection": gloves.pk,
    }


def _in_the_store(technician: Person, use: LabelUse) -> Examples:
    """A lot of the label's product in a vehicle of the technician, and a sprayer."""
    truck = add_place(
        branch_id=technician.branch_id,
        kind="vehicle",
        name=f"Truck of {technician.full_name}",
        technician_id=technician.pk,
        by=None,
    )
    lot = receive_lot(
        place_id=truck.pk,
        label_version_id=use.label_version_id,
        lot_number="L-1",
        container_size="32",
        container_unit="fl_oz",
        containers=1,
        received_on=timezone.now().date(),
        dealer="Demonstration Supply",
        by=None,
        now=timezone.now(),
    )
    sprayer = Equipment.objects.create(
        branch=technician.branch, name=f"Can {technician.pk}", kind="hand_can", tank_gal=1
    )
    move = StockMove.objects.get(lot=lot)
    load = make_load(technician, use, lot=lot)
    return {
        "lot": lot.pk,
        "move": move.pk,
        "equipment": sprayer.pk,
        "vehicle": truck.pk,
        "load": load.pk,
    }


def _inspected(technician: Person) -> Examples:
    """A visit of an inspector at the technician's branch, whose link was not opened yet."""
    token = f"link-of-{technician.pk}"
    visit = InspectorVisit.objects.create(
        branch=technician.branch,
        inspector_name="Robin Example",
        agency="Demonstration Department of Agriculture",
        token_sha256=digest_of(token),
        ends_at=timezone.now() + timedelta(hours=1),
    )
    return {"inspector_visit": visit.pk, "inspector_token": token}


def examples_of(technician: Person, use: LabelUse, zone_name: str) -> Examples:
    """Everything an address can name, belonging to this technician's work."""
    today = timezone.now().date()
    shifts = [make_shift(technician, weekday) for weekday in range(7)]
    time_off = TimeOff.objects.create(
        technician=technician,
        starts_on=today + timedelta(days=30),
        ends_on=today + timedelta(days=31),
    )
    item = open_item(
        branch_id=technician.branch_id,
        code="visit_in_time_off",
        thing=time_off,
        sentence="A visit is booked in time off. Cancel it or book it with somebody else.",
    )
    return {
        "item": item.pk,
        "branch": technician.branch_id,
        "person": technician.pk,
        "invited": urlsafe_base64_encode(str(technician.pk).encode()),
        "token": default_token_generator.make_token(technician),
        "license": technician.licenses.first().pk,
        "paper": technician.respirator_papers.create(
            kind="half_vapor",
            respirator="Demonstration half-face, medium",
            medical_until=today,
            fit_test_until=today,
            cartridge_until=today,
        ).pk,
        "paper_table": "training",
        "training": make_training(technician, today).pk,
        "firm_paper": make_firm_paper(technician.branch, today).pk,
        "shift": shifts[today.weekday()].pk,
        "time_off": time_off.pk,
        "weekday": today.weekday(),
        "day": today.isoformat(),
        "season_number": "lead_days",
        "report": "annual",
        "report_form": "csv",
        **_inspected(technician),
        **_of_the_label(use),
        **_in_the_store(technician, use),
        **_at_the_property(technician, use, zone_name),
    }
