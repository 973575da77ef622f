"""Reading windows and protections."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from datetime import date
from itertools import islice

from django.db.models import QuerySet

from treatments.models import HistoricTreatment, ResidualWindow, ZoneProtection
from treatments.rules.protections import OpenedWindow, Protection, protections

ZONES_A_READING = 500
WITHOUT_EFFECT = ("addendum", "correction", "void")  # what they follow has none


def effective_windows(zone_ids: Collection[int] | None = None) -> QuerySet[ResidualWindow]:
    """Windows of historic treatments and of records in force: nothing follows them."""
    rows = ResidualWindow.objects.exclude(
        treated_area__record__later_entries__entry__in=WITHOUT_EFFECT
    )
    return rows if zone_ids is None else rows.filter(zone_id__in=zone_ids)


def windows_of(zone_ids: Collection[int]) -> dict[int, list[ResidualWindow]]:
    """The effective windows of each zone, oldest first; two sources, one list."""
    found: dict[int, list[ResidualWindow]] = defaultdict(list)
    rows = effective_windows(zone_ids).select_related("historic", "treated_area__record")
    for window in rows.order_by("applied_on", "pk"):
        found[window.zone_id].append(window)
    return found


def protection_of(zone_ids: Collection[int]) -> dict[int, list[ZoneProtection]]:
    """The protection of each zone, the ones that count first."""
    found: dict[int, list[ZoneProtection]] = defaultdict(list)
    rows = ZoneProtection.objects.filter(zone_id__in=zone_ids).select_related("window")
    for row in rows.order_by("-counts", "expires_on", "pk"):
        found[row.zone_id].append(row)
    return found


def lapsing(*, before: date, branch_id: int | None = None) -> QuerySet[ZoneProtection]:
    """Protections that count and lapse before a day, by property; retired zones are left out."""
    rows = ZoneProtection.objects.filter(counts=True, expires_on__lt=before)
    rows = rows.filter(zone__retired_on=None).select_related("window", "zone__property")
    if branch_id is not None:
        rows = rows.filter(zone__property__branch_id=branch_id)
    return rows.order_by("zone__property_id", "expires_on", "pk")


def historic_of(zone_ids: Iterable[int]) -> dict[tuple[int, date], HistoricTreatment]:
    """What spreadsheets said of these zones, by zone and day."""
    return {
        (row.zone_id, row.applied_on): row
        for some in in_portions(zone_ids)
        for row in HistoricTreatment.objects.filter(zone_id__in=some)
    }


def in_portions(ids: Iterable[int], size: int = ZONES_A_READING) -> Iterator[list[int]]:
    """Keys in lists short enough for one query on either engine."""
    rest = iter(ids)
    while portion := list(islice(rest, size)):
        yield portion


def derived_protections(zone_ids: Collection[int] | None = None) -> list[Protection]:
    """What the protections must be, from the windows alone."""
    rows = effective_windows(zone_ids).values_list(
        "pk", "zone_id", "pest_group", "treated_area_id", "historic_id", "applied_on", "expires_on"
    )
    return protections(
        OpenedWindow(pk, zone_id, group, _treatment(area_id, historic_id), applied_on, expires_on)
        for pk, zone_id, group, area_id, historic_id, applied_on, expires_on in rows
    )


def _treatment(area_id: int | None, historic_id: int | None) -> tuple[str, int]:
    return ("record", area_id) if area_id is not None else ("historic", historic_id or 0)


def stored_protections(zone_ids: Collection[int] | None = None) -> list[Protection]:
    """The maintained rows as they are."""
    rows = ZoneProtection.objects.all()
    if zone_ids is not None:
        rows = rows.filter(zone_id__in=zone_ids)
    fields = ("zone_id", "pest_group", "window_id", "counts", "expires_on")
    return sorted(Protection(*row) for row in rows.values_list(*fields))


def protection_drift() -> list[str]:
    """Every difference between the maintained protections and the windows; empty when right."""
    stored, derived = set(stored_protections()), set(derived_protections())
    return [
        *(f"Kept and not derivable: {_words(one)}" for one in sorted(stored - derived)),
        *(f"Derivable and not kept: {_words(one)}" for one in sorted(derived - stored)),
    ]


def _words(one: Protection) -> str:
    counts = "counts" if one.counts else "does not count"
    return f"zone {one.zone_id}, {one.pest_group}, until {one.expires_on}, {counts}"


def windows_of_record(record_id: int) -> list[ResidualWindow]:
    """The windows one entry opened, whether it is in force or not."""
    rows = ResidualWindow.objects.filter(treated_area__record_id=record_id)
    return list(rows.order_by("pk"))
