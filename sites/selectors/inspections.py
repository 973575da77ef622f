"""Reading inspections, findings and what changed between two of them.

`within` are the properties the asking person may reach; the roof knows which, since a technician
reaches those with a stop near today.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.db.models import Count, Prefetch, QuerySet
from django.shortcuts import get_object_or_404

from sites.models import (
    ExclusionTask,
    Finding,
    FindingIdentification,
    Inspection,
    InspectionReport,
    Pest,
    Photo,
    Property,
)
from sites.rules.gaps import count_seen, weight_of
from sites.rules.inspection_changes import (
    Changed,
    HotSpot,
    Seen,
    changes,
    hot_spots,
)

if TYPE_CHECKING:
    from accounts.models import Person

SHOWN = 20


def places_among(keys: Iterable[int] | QuerySet[Any, Any]) -> QuerySet[Property]:
    """The properties with these keys, which may be a query."""
    return Property.objects.filter(pk__in=keys).select_related("branch", "customer")


def inspection_for(within: QuerySet[Property], pk: int) -> Inspection:
    """One inspection of a property within reach, else Http404."""
    rows = Inspection.objects.filter(property__in=within.values("pk"))
    joined = rows.select_related("property__branch", "property__customer", "created_by", "ending")
    return get_object_or_404(joined, pk=pk)


def own_open_round(person: Person, property_id: int) -> Inspection | None:
    """The person's newest round at a property that is not ended."""
    rows = Inspection.objects.filter(property=property_id, created_by=person, ending=None)
    return rows.first()


def finding_for(within: QuerySet[Property], pk: int) -> Finding:
    """One finding of a property within reach, with all that belongs to it, else Http404."""
    rows = _findings().filter(inspection__property__in=within.values("pk"))
    return get_object_or_404(rows, pk=pk)


def report_for(within: QuerySet[Property], pk: int) -> InspectionReport:
    """One kept report of a property within reach, else Http404."""
    rows = InspectionReport.objects.filter(inspection__property__in=within.values("pk"))
    joined = rows.select_related("inspection__property__branch", "inspection__property__customer")
    return get_object_or_404(joined, pk=pk)


def _findings() -> QuerySet[Finding]:
    tasks = ExclusionTask.objects.select_related("ending")
    named = FindingIdentification.objects.select_related("pest", "identification")
    return Finding.objects.select_related(
        "inspection__property__branch", "inspection__property__customer", "pest",
        "closing__created_by", "created_by",
    ).prefetch_related(
        Prefetch("tasks", tasks),
        Prefetch("photos", Photo.objects.defer("content")),
        Prefetch("identified", named),
        "zones__zone",
    )  # fmt: skip


def findings_of(inspection_id: int) -> list[Finding]:
    """The findings of one inspection with pest, tasks, photos and closing, in their order."""
    return list(_findings().filter(inspection=inspection_id).order_by("pk"))


def open_findings(property_id: int) -> list[Finding]:
    """What was found at a property and is not closed, newest first."""
    rows = _findings().filter(inspection__property=property_id, closing=None)
    return list(rows.order_by("-pk"))


def still_open_before(inspection: Inspection) -> list[Finding]:
    """What earlier rounds found at the property and nobody closed, newest first."""
    rows = Finding.objects.filter(
        inspection__property=inspection.property_id,
        inspection__begun_at__lt=inspection.begun_at,
        closing=None,
    )
    tasks = Prefetch("tasks", ExclusionTask.objects.select_related("ending"))
    return list(rows.select_related("pest").prefetch_related(tasks).order_by("-pk"))


def findings_to_place(property_id: int) -> list[Finding]:
    """What was found at a property and is not closed, in the order it was found; one query."""
    rows = Finding.objects.filter(inspection__property=property_id, closing=None)
    return list(rows.select_related("pest").order_by("pk"))


def inspections_of(property_id: int) -> list[Inspection]:
    """The newest inspections of a property, with the number of findings of each (`found`)."""
    rows = Inspection.objects.filter(property=property_id).select_related("ending", "created_by")
    return list(rows.annotate(found=Count("findings")).order_by("-begun_at", "-pk")[:SHOWN])


def looked_at(inspection: Inspection, findings: Sequence[Finding]) -> frozenset[str]:
    """The checkpoints a round has an answer for."""
    answered = inspection.answers.values_list("checkpoint", flat=True)
    return frozenset(answered) | {one.checkpoint for one in findings}


def changes_since(inspection: Inspection, findings: Sequence[Finding]) -> tuple[Changed, ...]:
    """What is new, worse, better or gone against the inspection before; empty for a first one."""
    rows = Inspection.objects.filter(property=inspection.property_id)
    earlier = rows.filter(begun_at__lt=inspection.begun_at).order_by("-begun_at", "-pk").first()
    if earlier is None:
        return ()
    before = Finding.objects.filter(inspection=earlier).exclude(closing__kind="mistaken")
    return changes(
        _seen(before.select_related("pest").prefetch_related("identified__pest")),
        _seen(findings),
        looked_at(inspection, findings),
    )


def _seen(findings: Iterable[Finding]) -> list[Seen]:
    return [Seen(one.checkpoint, one.kind, _of(one), one.severity, str(one)) for one in findings]


def _of(finding: Finding) -> str:
    pest = finding.known_pest
    return pest.common_name if pest else finding.condition


def found_days(place: Property, first: date) -> list[date]:
    """The days since `first` of the branch's calendar on which each finding was made."""
    zone = ZoneInfo(place.branch.time_zone)
    at = findings_since(place, first).values_list("inspection__begun_at", flat=True)
    return [one.astimezone(zone).date() for one in at]


def findings_since(place: Property, first: date) -> QuerySet[Finding]:
    """What was found at a property since a day of its branch's calendar, newest first; not what
    was entered by mistake."""
    begins = datetime.combine(first, time(), ZoneInfo(place.branch.time_zone))
    rows = Finding.objects.filter(inspection__property=place, inspection__begun_at__gte=begins)
    rows = rows.exclude(closing__kind="mistaken").select_related("inspection", "pest", "closing")
    return rows.order_by("-inspection__begun_at", "pk")


def spots_of(place: Property) -> tuple[HotSpot, ...]:
    """Where something was found again and again, by the year of the branch's calendar."""
    zone = ZoneInfo(place.branch.time_zone)
    rows = Finding.objects.filter(inspection__property=place).exclude(closing__kind="mistaken")
    found = rows.order_by("pk").values_list("checkpoint", "inspection__begun_at")
    return hot_spots([(checkpoint, at.astimezone(zone).year) for checkpoint, at in found])


def seen_among(treated: Mapping[int, Collection[str]]) -> dict[int, dict[str, int]]:
    """How often each size class of pests was found at properties, identified, or treated for.

    `treated` has the common names of what each was treated for.
    """
    found: dict[int, list[tuple[str, str]]] = {pk: [] for pk in treated}
    for pk, *pest in _found_pests(found):
        found[pk].append((pest[0], pest[1]))
    every = {name for names in treated.values() for name in names}
    named = Pest.objects.filter(common_name__in=every)
    by_name = {one.common_name: (one.scientific_name, one.group) for one in named}
    for pk, names in treated.items():
        found[pk] += [by_name[name] for name in names if name in by_name]
    return {pk: count_seen(pests) for pk, pests in found.items()}


def _found_pests(property_ids: Iterable[int]) -> Iterator[tuple[int, str, str]]:
    """Property, scientific name and group of every pest found or identified there."""
    keys = list(property_ids)
    pest = ("pest__scientific_name", "pest__group")
    found = Finding.objects.filter(inspection__property__in=keys, pest__isnull=False)
    yield from found.values_list("inspection__property", *pest)
    named = FindingIdentification.objects.filter(
        finding__inspection__property__in=keys, finding__pest=None, pest__isnull=False
    )
    yield from named.values_list("finding__inspection__property", *pest)


def in_order_of_work(
    findings: Iterable[Finding], seen: dict[str, int]
) -> list[tuple[Finding, int]]:
    """Findings with a measured gap, those that let most in first, each with its weight."""
    weighed = [(one, weight_of(one.gap, seen)) for one in findings if one.gap is not None]
    return sorted(weighed, key=lambda pair: (-pair[1], pair[0].pk))
