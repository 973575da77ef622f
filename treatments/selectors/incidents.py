"""Reading incidents: what a report concerns, who may see which, the list with its clocks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.core.paginator import Page
from django.db.models import Prefetch, QuerySet
from django.http import Http404

from accounts.permissions import Permission, allows
from accounts.refusals import Refused
from accounts.rules.day_words import clock, short_day
from accounts.selectors.pages import page_of
from accounts.selectors.people import branches_for
from sites.selectors.properties import property_for
from treatments.models import (
    ApplicationRecord,
    Incident,
    IncidentAddendum,
    IncidentRecord,
    LabelVersion,
    StockPlace,
)
from treatments.rules.incident_clocks import Reading, read_clock
from treatments.rules.incidents import AddendumKind, NewIncident, is_closed

if TYPE_CHECKING:
    from accounts.models import Branch, Person
    from sites.models import Property

PARTS = (
    "personal_values",
    Prefetch("concerns", IncidentRecord.objects.select_related("record")),
    Prefetch("addenda", IncidentAddendum.objects.select_related("created_by", "given_by")),
)


@dataclass(frozen=True)
class Concerned:
    """The rows a report names, and whose clock counts: the property's state, else the branch's."""

    branch: Branch
    state: str
    place: Property | None
    vehicle: StockPlace | None
    label_version: LabelVersion | None
    records: tuple[ApplicationRecord, ...]

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.branch.time_zone)


@dataclass(frozen=True)
class IncidentRow:
    """One incident of the list with its clock now."""

    incident: Incident
    when: str
    where: str
    due: str
    reading: Reading
    mark: str
    is_closed: bool


def concerned(incident: NewIncident, by: Person) -> Concerned:
    """Read what a report names.

    Refused: a vehicle, label or record that does not exist, records of another place.
    """
    place = property_for(None, incident.property_id) if incident.property_id else None
    vehicle = _vehicle(incident.vehicle_id)
    owner = place or vehicle
    branch: Branch = owner.branch if owner else by.branch
    return Concerned(
        branch=branch,
        state=place.state if place else branch.state,
        place=place,
        vehicle=vehicle,
        label_version=_label(incident.label_version_id),
        records=_records(incident.record_ids, branch, place),
    )


def _vehicle(pk: int | None) -> StockPlace | None:
    if pk is None:
        return None
    found = StockPlace.objects.select_related("branch").filter(pk=pk).first()
    if found is None:
        raise Refused("choice", "Choose a vehicle of the list.", field="vehicle")
    return found


def _label(pk: int | None) -> LabelVersion | None:
    if pk is None:
        return None
    found = LabelVersion.objects.select_related("product").filter(pk=pk, is_draft=False).first()
    if found is None:
        raise Refused("choice", "Choose a product of the list.", field="product")
    return found


def _records(
    keys: Sequence[int], branch: Branch, place: Property | None
) -> tuple[ApplicationRecord, ...]:
    rows = ApplicationRecord.objects.filter(pk__in=keys, branch=branch)
    found = tuple((rows.filter(property=place) if place else rows).order_by("pk"))
    if len(found) < len(set(keys)):
        raise Refused("choice", "A chosen record is not of this place.", field="records")
    return found


def incidents_for(person: Person | None) -> QuerySet[Incident]:
    """Those of the person's branches for who sees customers, else what the person reported."""
    rows = Incident.objects.select_related("branch", "property", "vehicle", "created_by")
    rows = rows.prefetch_related(*PARTS)
    if person is None:
        return rows
    if not allows(person, Permission.SEE_CUSTOMERS):
        return rows.filter(created_by=person)
    return rows.filter(branch__in=branches_for(person))


def incident_for(person: Person | None, pk: int) -> Any:
    """One incident with its state; otherwise Http404."""
    incident = incidents_for(person).filter(pk=pk).first()
    if incident is None:
        raise Http404("No such incident.")
    return with_state(incident)


def with_state(incident: Any) -> Any:
    """The incident with `notices`, by the time they were given, and `is_closed`."""
    addenda = list(incident.addenda.all())
    notices = [one for one in addenda if one.kind == AddendumKind.NOTICE]
    incident.notices = sorted(notices, key=lambda one: one.given_at)
    incident.is_closed = is_closed([one.kind for one in addenda])
    return incident


def overdue(now: datetime) -> list[Any]:
    """Every incident whose clock ran out before now and whose agency was not told."""
    rows = incidents_for(None).filter(notice_due_at__lt=now)
    return [one for one in map(with_state, rows.order_by("pk")) if not one.notices]


def incidents_page(
    person: Person, now: datetime, number: object
) -> tuple[Sequence[IncidentRow], Page[Any]]:
    """One page of 50 incidents, the newest first."""
    page = page_of(incidents_for(person), number)
    return [incident_row(with_state(one), now) for one in page.object_list], page


def incident_row(incident: Any, now: datetime) -> IncidentRow:
    """One incident in words on the clock of its branch."""
    zone = ZoneInfo(incident.branch.time_zone)
    given = incident.notices[0].given_at if incident.notices else None
    reading = read_clock(incident.notice_due_at, given, now)
    return IncidentRow(
        incident=incident,
        when=moment_words(incident.happened_at, zone),
        where=where_words(incident),
        due=moment_words(incident.notice_due_at, zone) if incident.notice_due_at else "",
        reading=reading,
        mark=_mark(reading),
        is_closed=incident.is_closed,
    )


def _mark(reading: Reading) -> str:
    if reading.is_late:
        return "refuse"
    return "ok" if reading.is_given else "check"


def where_words(incident: Incident) -> str:
    """The property, the vehicle, else what was written."""
    said = {row.field: row.value for row in incident.personal_values.all()}
    place = incident.property.address if incident.property else ""
    parts = (place, str(incident.vehicle) if incident.vehicle else "", said.get("where", ""))
    return "; ".join(part for part in parts if part)


def moment_words(at: datetime, zone: ZoneInfo) -> str:
    """Nov 12, 2026, 2:05 PM."""
    local = at.astimezone(zone)
    return f"{short_day(local.date(), True)}, {clock(local)}"
