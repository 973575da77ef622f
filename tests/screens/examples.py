"""What the demo firm has for every address that names a thing.

Rows are read here only to find an address; what stands behind it is made by the demo's services.
"""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlencode

from django.contrib.auth.tokens import default_token_generator
from django.utils import timezone
from django.utils.http import urlsafe_base64_encode

from accounts.models import (
    ApplicatorLicense,
    Contact,
    FirmPaper,
    Notice,
    OpenItem,
    Person,
    RespiratorPaper,
    TrainingRecord,
)
from accounts.permissions import Role
from accounts.services.inspectors import receive_inspector
from scheduling.models import (
    Renewal,
    ServiceAgreement,
    ServiceProgram,
    Shift,
    TimeOff,
    Visit,
)
from scheduling.rules.visit_states import VisitState
from sites.models import (
    CorrectiveAction,
    Device,
    DeviceThreshold,
    ExclusionTask,
    Finding,
    Identification,
    InspectionReport,
    Photo,
    Preference,
    Property,
    Sighting,
    SiteCaution,
    Taxon,
    Trait,
    TreatableZone,
    Unit,
    WaterFeature,
)
from sites.services.site_links import give_logbook_link
from treatments.models import (
    ApplicationRecord,
    CorrectionRequest,
    Equipment,
    Incident,
    IncidentHold,
    JurisdictionProfile,
    LabelLimit,
    LabelProtection,
    LabelUse,
    LabelVersion,
    Load,
    Product,
    ProductIngredient,
    ProductLot,
    ResidualWindow,
    RetentionHold,
    StockMove,
    StockPlace,
    UnlistedUseDecision,
)
from treatments.rules.products import Method

Examples = dict[str, object]
# pages that are looked at where the walls are known
PLANNED = ("property", "property_walls", "band_add", "water_add")

# pages that are looked at where devices are in place
WITH_DEVICES = ("property_devices", "devices_add", "device_trends", "device_threshold")


def person_in(role: str) -> Person | None:
    """Return the person of the demo who takes this role in the pictures."""
    if role in ("anonymous", "stranger"):
        return None
    people = Person.objects.filter(is_active=True, role_grants__role=role)
    if role == Role.TECHNICIAN:
        with_stops = people.filter(pk__in=Visit.objects.values("technician"))
        return with_stops.order_by("pk").first()
    return people.order_by("pk").first()


def _visit_of(person: Person, *states: VisitState) -> Visit | None:
    visits = Visit.objects.filter(state__in=states, property__branch=person.branch_id)
    visits = visits.order_by("day", "pk")
    if Role.TECHNICIAN in person.roles:
        visits = visits.filter(technician=person)
    return visits.first()


def _first(model: type, **condition: object) -> object:
    found = model.objects.filter(**condition).order_by("pk").first()  # type: ignore[attr-defined]
    return found.pk if found else None


def _vehicle_of(person: Person) -> object:
    if Role.TECHNICIAN in person.roles:
        return _first(StockPlace, technician=person)
    return _first(StockPlace, kind="vehicle")


def _correction_for(person: Person) -> object:
    """A request of a technician's own, or any."""
    if Role.TECHNICIAN in person.roles:
        return _first(CorrectionRequest, created_by=person)
    return _first(CorrectionRequest)


def _incident_of(person: Person) -> object:
    if Role.TECHNICIAN in person.roles:
        return _first(Incident, created_by=person)
    return _first(Incident)


def _identification_of(person: Person) -> object:
    if Role.TECHNICIAN in person.roles:
        return _first(Identification, by=person)
    return _first(Identification, property__branch=person.branch_id)


def _choice_of_use(place: Property) -> Examples:
    """A zone of the property with a direction, method and pest that its label names."""
    for zone in TreatableZone.objects.filter(property=place, retired_on=None).order_by("pk"):
        for use in LabelUse.objects.order_by("pk"):
            if zone.place in use.places and (pest := use.pests.first()):
                chosen = {"zone": zone.pk, "use": use.pk, "method": use.methods[0], "pest": pest.pk}
                silent = chosen | {"method": Method.FOAM}
                return {"choice": urlencode(chosen), "silent": urlencode(silent)}
    return {}


def _refused_use(place: Property) -> Examples:
    """A zone of the property with a direction that does not name its place."""
    for zone in TreatableZone.objects.filter(property=place, retired_on=None).order_by("pk"):
        for use in LabelUse.objects.order_by("pk"):
            if zone.place not in use.places and (pest := use.pests.first()):
                return {"refused": urlencode({"zone": zone.pk, "use": use.pk, "pest": pest.pk})}
    return {}


def _looked_at(person: Person) -> Examples:
    """What was found last: a technician's own, else anybody's."""
    rows = Finding.objects.filter(gap_nm__isnull=False, photos__isnull=False).order_by("-pk")
    rows = rows.filter(inspection__property__branch=person.branch_id)
    if Role.TECHNICIAN in person.roles:
        rows = rows.filter(inspection__created_by=person)
    found = rows.first()
    if found is None:
        return {}
    place = found.inspection.property
    return {
        "round": found.inspection_id,
        "inspections_of.property": place.pk,
        "finding": found.pk,
        "task": _first(ExclusionTask, finding__inspection__property=place, ending=None),
        "photo": _first(Photo, property=place, is_sealed=False),
        "kept_report": _first(InspectionReport, inspection__property=place),
    }


def _being_entered() -> Examples:
    """The things of a label that still changes."""
    draft = LabelVersion.objects.filter(is_draft=True).order_by("pk").first()
    if draft is None:
        return {}
    return {
        "draft": draft.pk,
        "label.label": draft.pk,
        "product.product": draft.product_id,
        "draft_product": draft.product_id,
        "ingredient": _first(ProductIngredient, product=draft.product_id),
        "direction": _first(LabelUse, label_version=draft),
        "limit": _first(LabelLimit, label_version=draft),
        "protection": _first(LabelProtection, label_version=draft),
    }


def _invitation() -> Examples:
    """A link as an invited technician would get it."""
    people = Person.objects.filter(is_active=True, role_grants__role=Role.TECHNICIAN)
    # not the one who walks: signing in ends the link
    invited = people.order_by("pk").last()
    if invited is None:
        return {}
    uid = urlsafe_base64_encode(str(invited.pk).encode())
    return {"invited": uid, "token": default_token_generator.make_token(invited)}


def _inspection() -> Examples:
    """The token of a link that a manager makes for an inspector."""
    manager = person_in(Role.MANAGER)
    if manager is None:
        return {}
    made = receive_inspector(
        branch_id=manager.branch_id,
        inspector_name="Robin Example",
        agency="Demonstration Department of Agriculture",
        by=manager,
        now=timezone.now(),
    )
    return {"inspector_token": made.path.rstrip("/").rpartition("/")[2]}


def _logbook_link() -> Examples:
    """The token of a link that the office makes for a contact of a property with sightings."""
    office, place = person_in(Role.OFFICE), Property.objects.exclude(sightings=None).first()
    if office is None or place is None:
        return {}
    given = give_logbook_link(
        property_id=place.pk,
        contact_id=Contact.objects.filter(customer=place.customer_id).order_by("pk")[0].pk,
        last_day=timezone.localdate() + timedelta(days=30),
        by=office,
        now=timezone.now(),
    )
    return {"contact_token": given.token}


def examples_for(person: Person | None) -> Examples:
    """Return the keys of things this person may open; a missing one is left out."""
    if person is None:
        return {**_invitation(), **_inspection(), **_logbook_link()}
    visit = _visit_of(person, VisitState.BOOKED, VisitState.STARTED) or _visit_of(
        person, *VisitState
    )
    record = ApplicationRecord.objects.filter(branch=person.branch_id).order_by("pk")
    renewals = {"property__branch": person.branch_id}
    if Role.TECHNICIAN in person.roles:
        record = record.filter(applicator=person)
    place = Property.objects.filter(pk=visit.property_id).first() if visit else None
    newest = record.last()
    found: Examples = {
        "visit": visit and visit.pk,
        "visit_notice.visit": newest and _first(Visit, ref=newest.visit_ref),
        "property": place and place.pk,
        "customer": place and place.customer_id,
        "contact": place and _first(Contact, customer_id=place.customer_id),
        **{f"{name}.property": _first(Property, walls__position=0) for name in PLANNED},
        "water": _first(WaterFeature),
        "zone": place and _first(TreatableZone, property=place),
        "record": newest and newest.pk,
        "load": _first(Load, technician=person),
        "branch_load.load": _first(Load, branch=person.branch_id),
        "load_end.load": _first(Load, branch=person.branch_id),
        "renewal": _first(Renewal, state="due", **renewals) or _first(Renewal, **renewals),
        "branch": person.branch_id,
        "item": _first(OpenItem, closed_at=None),
        "notice": _first(Notice, branch=person.branch_id),
        "notice_paper.notice": _first(Notice, attachment__isnull=False),
        "notice_kind": "copy",
        "letter_kind": "appointment",
        "prep_treatment": "outside",
        "person": _first(Person, role_grants__role=Role.TECHNICIAN),
        "license": _first(ApplicatorLicense),
        "paper": _first(RespiratorPaper),
        "paper_table": "training",
        "training": _first(TrainingRecord, superseded_by=None),
        "firm_paper": _first(FirmPaper, superseded_by=None),
        "shift": _first(Shift),
        "time_off": _first(TimeOff),
        "unit": _first(Unit),
        "identification": _identification_of(person),
        "stop_device.device": place and _first(Device, property=place, removal=None),
        **{f"{name}.property": _first(Property, devices__number=1) for name in WITH_DEVICES},
        "device": _first(Device, property__branch=person.branch_id),
        "threshold": _first(DeviceThreshold),
        "taxon": _first(Taxon, code="HALHA"),
        "trait": _first(Trait),
        "seen": urlencode([("seen", "shape.shield"), ("seen", "antennae.banded")]),
        "preference": _first(Preference),
        "caution": _first(SiteCaution),
        "label": _first(LabelVersion),
        "file_kind": "label",
        "profile": _first(JurisdictionProfile, code="US-MD"),
        "program": _first(ServiceProgram),
        "agreement": _first(ServiceAgreement, state="active"),
        "agreement_edit.agreement": _first(ServiceAgreement, state="draft"),
        "agreement_accept.agreement": _first(ServiceAgreement, state="offered"),
        "agreement_take_back.agreement": _first(ServiceAgreement, state="offered"),
        "signed_agreement": _first(ServiceAgreement, papers__acceptance__how="paper"),
        "paper_version": 1,
        "season_number": "lead_days",
        "window": place and _first(ResidualWindow, zone__property=place),
        "report": "totals",
        "report_form": "pdf",
        "product": _first(Product),
        "lot": _first(ProductLot),
        "move": _first(StockMove),
        "equipment": _first(Equipment),
        "vehicle": _vehicle_of(person),
        "question": _first(UnlistedUseDecision),
        "correction": _correction_for(person),
        "incident": _incident_of(person),
        **_looked_at(person),
        "incident_hold": _first(IncidentHold),
        "hold": _first(RetentionHold, released_at=None, incident=None),
        **_being_entered(),
        "weekday": 0,
        "day": visit and visit.day.isoformat(),
        **_invitation(),
        **_inspection(),
        **_logbook_link(),
        "property_logbook.property": _first(Property, sightings__isnull=False),
        "sighting": _first(Sighting, answers=None),
        "action": _first(CorrectiveAction),
        **(_choice_of_use(place) | _refused_use(place) if place else {}),
    }
    return {name: key for name, key in found.items() if key is not None}
