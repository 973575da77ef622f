"""The logbook of a property, put together from every floor."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import Http404
from django.urls import reverse

from accounts.rules.day_words import short_day
from accounts.rules.phones import readable
from accounts.selectors.register import firm_papers_at
from scheduling.models import Visit
from scheduling.rules.site_logbook import (
    MOST_REPORTS,
    Logbook,
    Plan,
    ServiceReport,
    device_list,
    since,
    trend_list,
)
from scheduling.rules.visit_states import VisitState
from scheduling.selectors.site_logbook_lists import (
    NOT_NAMED,
    action_list,
    finding_list,
    plan_list,
    review_list,
    sighting_list,
)
from sites.rules.site_codes import printed
from sites.rules.trends import by_month, first_shown
from sites.selectors.devices import device_map
from sites.selectors.inspections import findings_since, found_days
from sites.selectors.logbook import (
    actions_of,
    code_of_property,
    plans_of,
    reviews_of,
    seen_days,
    sightings_of,
)
from treatments.rules.desk import DeskFile, DeskList, counted
from treatments.selectors.record_words import what_of
from treatments.selectors.site_logbook import labels_of, people_of, records_since

if TYPE_CHECKING:
    from accounts.models import Branch
    from sites.models import ManagementPlan, Property
    from treatments.models import ApplicationRecord

Done = dict[str, list["ApplicationRecord"]]
WORKED = (VisitState.DONE, VisitState.PART_DONE)


def logbook_of(place: Property, now: datetime) -> Logbook:
    """The logbook of a property that the caller may show, in a fixed number of queries.

    No access notes, contacts, names of who told a sighting, money or internal notes.
    """
    branch, local = place.branch, now.astimezone(ZoneInfo(place.branch.time_zone))
    today, code = local.date(), code_of_property(place.pk)
    first = first_shown(today)
    trend = by_month(seen_days(place.pk, first), found_days(place, first), today)
    sightings = list(sightings_of(place.pk).filter(seen_on__gte=since(today)))
    plans = list(plans_of(place.pk))
    work = _work(place, today)
    return Logbook(
        address=place.address,
        customer=place.customer.name,
        firm=branch.name,
        phone=readable(branch.phone) if branch.phone else "",
        as_of=local,
        code=printed(code.code) if code else "",
        code_url=f"{settings.BASE_URL.rstrip('/')}{reverse('code_sighting')}",
        plan=_plan(plans),
        trend=trend,
        lists=(
            sighting_list(sightings, branch.time_zone),
            finding_list(findings_since(place, since(today)), branch.time_zone),
            trend_list(trend),
            action_list(actions_of(place.pk)),
            work.services,
            device_list(device_map(place) or None),
            work.labels,
            _firm_list(branch, today),
            work.people,
            plan_list(plans),
            review_list(reviews_of(place.pk)),
        ),
        files=work.files,
        reports=work.reports,
        unanswered=sum(not one.answers.all() for one in sightings),
        demo=settings.DEMO,
    )


@dataclass(frozen=True)
class _Work:
    """What was done at a property in two years: visits, records, labels, who."""

    services: DeskList
    reports: tuple[ServiceReport, ...]
    labels: DeskList
    files: tuple[DeskFile, ...]
    people: DeskList


def _work(place: Property, today: date) -> _Work:
    records = records_since(place.pk, since(today))
    labels, files = labels_of(records)
    services, reports = _services(place, since(today), records)
    return _Work(services, reports, labels, tuple(files), people_of(records))


def _plan(plans: Sequence[ManagementPlan]) -> Plan | None:
    if not plans:
        return None
    last = plans[0]
    written = f"{short_day(last.written_on, True)} by {last.written_by}"
    return Plan(f"Version {last.version}, written {written}", last.text)


def _firm_list(branch: Branch, today: date) -> DeskList:
    """Business licenses and insurances in force today; what is missing is said."""
    papers = firm_papers_at(branch.pk, today)
    rows = [
        (
            paper.get_kind_display(),
            paper.number,
            paper.issuer,
            f"${paper.insured_dollars:,}" if paper.insured_dollars else "",
            short_day(paper.ends_on, True),
        )
        for paper in papers
    ]
    number = branch.business_license_number
    missing = () if rows else ("No business license or insurance in force is in the register.",)
    return DeskList(
        "firm",
        "Licenses and insurance of the firm",
        f"business license {number}" if number else "no business license number entered",
        ("Paper", "Number", "Issued by", "Insured", "In force through"),
        tuple(rows),
        missing,
    )


def _services(
    place: Property, first: date, records: Sequence[ApplicationRecord]
) -> tuple[DeskList, tuple[ServiceReport, ...]]:
    """Visits that were worked, with what was recorded on them, and records of no visit."""
    done: Done = defaultdict(list)
    for record in records:
        done[record.visit_ref].append(record)
    rows = Visit.objects.filter(property=place, day__gte=first, state__in=WORKED)
    visits = list(rows.select_related("technician").order_by("-day", "-pk"))
    lines = sorted(_lines(visits, done), key=lambda line: line[0], reverse=True)
    title, head = "Service reports", ("Day", "Kind", "By", "What was done")
    shown = tuple(row for _, row in lines[:MOST_REPORTS])
    more = (f"Older than the last {MOST_REPORTS}: ask the office.",)
    missing = more if len(lines) > MOST_REPORTS else ()
    said = f"{counted(len(visits), 'visit')} in two years"
    reports = tuple(_report(one) for one in visits[:MOST_REPORTS] if done[str(one.ref)])
    return DeskList("services", title, said, head, shown, missing), reports


def _lines(visits: Sequence[Visit], done: Done) -> Iterator[tuple[date, tuple[str, ...]]]:
    for visit in visits:
        yield visit.day, _visit_row(visit, done[str(visit.ref)])
    known = {str(visit.ref) for visit in visits}
    for ref, records in done.items():
        yield from ((one.applied_on, _record_row(one)) for one in records if ref not in known)


def _report(visit: Visit) -> ServiceReport:
    return ServiceReport(visit.pk, f"Notice of {short_day(visit.day, True)}")


def _visit_row(visit: Visit, records: Sequence[ApplicationRecord]) -> tuple[str, ...]:
    worked = ", ".join(dict.fromkeys(what_of(one) for one in records)) or "no application"
    part = "" if visit.state == VisitState.DONE else " (part done)"
    kind = f"{visit.get_kind_display()}{part}"
    return short_day(visit.day, True), kind, visit.technician.full_name, worked


def _record_row(record: ApplicationRecord) -> tuple[str, ...]:
    by = getattr(record, "applicator_name", "") or ""
    return short_day(record.applied_on, True), f"Record {record.pk}", by, what_of(record)


def worked_visit_at(place: Property, pk: int, today: date) -> Visit:
    """A visit in the property's logbook with a record, for its notice; otherwise Http404."""
    rows = Visit.objects.filter(property=place, state__in=WORKED, day__gte=since(today))
    visit = rows.filter(pk=pk, applications__isnull=False).select_related("property").first()
    if visit is None:
        raise Http404
    return visit


def done_in_choices(place: Property, now: datetime) -> list[tuple[str, str]]:
    """Visits and records of a property that an answer may name, with their words."""
    today = now.astimezone(ZoneInfo(place.branch.time_zone)).date()
    visits = Visit.objects.not_canceled().filter(property=place).select_related("technician")
    named = [(f"visit:{one.ref}", _visit_words(one)) for one in visits.order_by("-day", "-pk")[:10]]
    records = records_since(place.pk, since(today))[:10]
    named += [
        (f"record:{one.pk}", f"Record {one.pk}, {short_day(one.applied_on, True)}, {what_of(one)}")
        for one in records
    ]
    return [*named, (NOT_NAMED, "No visit and no record")]


def _visit_words(visit: Visit) -> str:
    kind = visit.get_kind_display()
    return f"Visit of {short_day(visit.day, True)}, {kind}, {visit.technician.full_name}"
