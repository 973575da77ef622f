"""A spill of the invented firm, completed, its agency told, and a record held for a claim."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid5

from scheduling.models import VisitApplication
from scheduling.services.demo.days import NEVER_TYPED_TWICE
from treatments.rules.applications import Entered
from treatments.rules.incidents import NewIncident, NewNotice
from treatments.services.holds import set_hold, set_incident_hold
from treatments.services.incidents import add_to_incident, give_notice, report_incident

if TYPE_CHECKING:
    from scheduling.services.demo.firm import Firm

TECHNICIAN = "technician@demo.example"
SOON, LATER, NEXT = timedelta(minutes=20), timedelta(hours=1), timedelta(hours=3)


def spill_and_tell(*, firm: Firm, today: date) -> tuple[str, ...]:
    """Report a spill at the technician's last stop before today, and tell the agency."""
    record, earlier = _last_records(firm, today)
    technician, manager = firm.people[TECHNICIAN], firm.manager
    at = record.finished_at
    incident = report_incident(incident=_spill(record), by=technician, now=at + SOON)
    add_to_incident(
        incident_id=incident.pk,
        client_ref=_ref("addition"),
        words="The storm drain was covered in time. The litter is bagged and labeled.",
        by=technician,
        now=at + LATER,
    )
    told = give_notice(
        incident_id=incident.pk,
        notice=NewNotice(
            client_ref=_ref("notice"),
            agency="State pesticide agency (demonstration)",
            given_at=at + NEXT,
            given_by_id=manager.pk,
            reference="DEMO-0815",
            words="No further report is asked for.",
        ),
        by=manager,
        now=at + NEXT,
    )
    held = set_hold(
        record_id=earlier.pk, reason="Claim of the owner about a stain.", by=manager, now=at + NEXT
    )
    set_incident_hold(
        incident_id=incident.pk, reason="The insurer asks for it.", by=manager, now=at + NEXT
    )
    return (f"{incident}: {told.agency} told, {told.reference}.", f"Record held: {held}")


def _last_records(firm: Firm, today: date) -> list[Any]:
    rows = VisitApplication.objects.select_related("record").filter(
        record__applicator=firm.people[TECHNICIAN], record__applied_on__lt=today
    )
    return [row.record for row in rows.order_by("-record__finished_at", "-pk")[:2]]


def _spill(record: Any) -> NewIncident:
    return NewIncident(
        client_ref=_ref("spill"),
        kind="spill",
        happened_at=record.finished_at,
        what="The can tipped over on the drive while it was put back on the truck.",
        property_id=record.property_id,
        where="Drive, beside the garage",
        whom="Nobody was near.",
        label_version_id=record.label_version_id,
        record_ids=(record.pk,),
        amount=Entered("0.25", "gal"),
        done=("control", "contain", "clean_up"),
        done_words="Litter from the spill kit, swept up and bagged.",
        care="none",
        visit_ref=record.visit_ref,
    )


def _ref(word: str) -> Any:
    return uuid5(NEVER_TYPED_TWICE, f"incident, {word}")
