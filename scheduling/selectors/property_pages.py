"""The property page: zones, residual line, applications, visits, who and access, on one sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal

from django.utils.safestring import SafeString, mark_safe

from accounts.selectors.pages import local_today
from scheduling.models import Renewal, ServiceAgreement, Visit
from scheduling.rules.day_words import full_day, left
from scheduling.rules.renewals import days_left
from scheduling.selectors.agreements import agreements_at
from scheduling.selectors.contact_rows import ContactRow, contact_rows
from scheduling.selectors.property_plans import PlanSheet, property_plan
from scheduling.selectors.renewal_words import window_source, zone_line, zone_size
from scheduling.selectors.sightings import open_sightings
from scheduling.selectors.site_logbook_pages import LinkRow, link_rows
from scheduling.selectors.visit_words import VisitWords, visit_words
from sites.selectors.devices import devices_in_short
from sites.selectors.exclusion import tasks_at
from sites.selectors.identifications import identifications_of
from sites.selectors.inspections import inspections_of
from sites.selectors.properties import (
    cautions_of,
    preferences_of,
    property_for,
    units_of,
    zone_measure,
    zones_of,
)
from treatments.reports.residual_line import ZoneLine, residual_line
from treatments.selectors.records import history_of
from treatments.selectors.windows import protection_of, windows_of

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property, Sighting, TreatableZone
    from treatments.models import ResidualWindow, ZoneProtection

SHOWN_VISITS, SHOWN_TASKS = 20, 10


@dataclass(frozen=True)
class LineForm:
    """One form of the drawing: days back and ahead, width in pixels."""

    name: Literal["wide", "narrow"]
    back: int
    ahead: int
    width: int


WIDE, NARROW = LineForm("wide", 220, 110, 1278), LineForm("narrow", 45, 60, 340)


@dataclass(frozen=True)
class ZoneFacts:
    """A zone with its arithmetic and the window that counts and lapses first."""

    pk: int
    name: str
    place: str
    surface: str
    exposure: str
    size: str
    sum: str
    left: str
    until: str
    source: str
    days: int | None

    @property
    def is_lapsed(self) -> bool:
        return self.days is not None and self.days < 0


@dataclass(frozen=True)
class WindowRow:
    """One bar of the residual line as a row of the table beside it."""

    zone: str
    applied_on: str
    opens_on: str
    expires_on: str
    days: int
    source: str
    pk: int
    why: str


@dataclass(frozen=True)
class PropertyPage:
    """Everything the sheet of one property shows."""

    place: Property
    zones: Sequence[ZoneFacts]
    wide: SafeString
    narrow: SafeString
    windows: Sequence[WindowRow]
    applications: Sequence[Any]
    visits: Sequence[VisitWords]
    next_visit: VisitWords | None
    renewal: Renewal | None
    contacts: Sequence[ContactRow]
    access: Any
    cautions: Sequence[Any]
    preferences: Sequence[Any]
    units: Sequence[Any]
    identified: Sequence[Any]
    devices: int
    device_matters: Sequence[str]
    sightings: Sequence[Sighting]
    links: Sequence[LinkRow]
    inspections: Sequence[Any]
    tasks: Sequence[Any]
    ended_tasks: Sequence[Any]
    plan: PlanSheet | None
    agreements: Sequence[ServiceAgreement]

    @property
    def lapsed(self) -> int:
        return sum(zone.is_lapsed for zone in self.zones)

    @property
    def first(self) -> ZoneFacts | None:
        """The zone that lapses first among those that still hold."""
        held = [zone for zone in self.zones if zone.days is not None and zone.days >= 0]
        return min(held, key=lambda zone: zone.days or 0, default=None)


def property_page(person: Person, pk: int, now: datetime) -> PropertyPage:
    """Read the page of a property the person may see, in a fixed number of queries."""
    place, today = property_for(person, pk, "access"), local_today(person, now)
    zones = list(zones_of(place.pk))
    zone_ids = {zone.pk for zone in zones}
    windows = windows_of(zone_ids)
    kept = protection_of(zone_ids, windows)
    how_many, matters = devices_in_short(place.pk)
    visits, (tasks, ended) = _visits(place), tasks_at(place.pk)
    coming = [v for v in visits if v.day >= today and v.shape in ("book", "check", "late")]
    return PropertyPage(
        place=place,
        zones=[_facts(zone, kept.get(zone.pk, ()), today) for zone in zones],
        **_drawings(zones, windows, [visit.day for visit in coming], today),
        windows=_window_rows(zones, windows),
        applications=history_of(place.pk),
        visits=visits,
        next_visit=min(coming, key=lambda visit: visit.day, default=None),
        renewal=Renewal.objects.open().filter(property_id=place.pk).first(),
        contacts=contact_rows(place.customer_id),
        access=getattr(place, "access", None),
        cautions=list(cautions_of(place.pk)),
        preferences=list(preferences_of(place.pk)),
        units=list(units_of(place.pk)),
        identified=identifications_of(place.pk),
        devices=how_many,
        device_matters=matters,
        sightings=open_sightings(place.pk),
        links=link_rows(person, place, now),
        inspections=inspections_of(place.pk)[:3],
        tasks=tasks,
        ended_tasks=ended[:SHOWN_TASKS],
        plan=property_plan(place, zones, kept, today),
        agreements=agreements_at([place.pk]),
    )


def _visits(place: Property) -> list[VisitWords]:
    rows = Visit.objects.filter(property_id=place.pk).select_related("technician")
    newest = rows.order_by("-window_opens_at")[:SHOWN_VISITS]
    return [visit_words(visit, place.branch.time_zone) for visit in newest]


def _facts(zone: TreatableZone, kept: Sequence[ZoneProtection], today: date) -> ZoneFacts:
    held = next((one.window for one in kept if one.counts), None)
    days = days_left(held.lapses_on, today) if held else None
    return ZoneFacts(
        pk=zone.pk,
        name=zone.name,
        place=zone.get_place_display(),
        surface=zone.get_surface_display(),
        exposure=zone.get_exposure_display(),
        size=zone_size(zone),
        sum=zone_measure(zone).sentence,
        left=left(days) if days is not None else "no treatment known",
        until=full_day(held.lapses_on) if held else "",
        source=f"{held.sentence}, from {full_day(held.applied_on)}" if held else "",
        days=days,
    )


def _drawings(
    zones: Sequence[TreatableZone],
    windows: Mapping[int, Sequence[ResidualWindow]],
    visits: Sequence[date],
    today: date,
) -> dict[str, SafeString]:
    lines = [zone_line(zone, windows.get(zone.pk, ())) for zone in zones]
    return {
        "wide": _line(lines, visits, today, WIDE),
        "narrow": _line(lines, visits, today, NARROW),
    }


def _line(
    lines: Sequence[ZoneLine], visits: Sequence[date], today: date, form: LineForm
) -> SafeString:
    drawing = residual_line(
        lines,
        today=today,
        start=today - timedelta(days=form.back),
        end=today + timedelta(days=form.ahead),
        width=form.width,
        visits=tuple(visits),
        form=form.name,
        uid=form.name,
    )
    return mark_safe(drawing)


def _window_rows(
    zones: Sequence[TreatableZone], windows: Mapping[int, Sequence[ResidualWindow]]
) -> list[WindowRow]:
    return [
        WindowRow(
            zone=zone.name,
            applied_on=full_day(one.applied_on),
            opens_on=full_day(one.opens_on),
            expires_on=full_day(one.lapses_on),
            days=one.held_days,
            pk=one.pk,
            why=one.sentence,
            source=window_source(one),
        )
        for zone in zones
        for one in sorted(windows.get(zone.pk, ()), key=lambda w: w.applied_on, reverse=True)
    ]
