"""Reading windows and protections."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, Any

from django.db.models import Exists, Max, Min, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.http import Http404

from accounts.selectors.people import branches_for
from sites.rules.places import INSIDE, Exposure
from treatments.models import (
    HistoricTreatment,
    ResidualWindow,
    TreatedArea,
    TreatedRun,
    WindowOverride,
    ZoneProtection,
)
from treatments.reports.line_windows import LineWindow, ZoneLine
from treatments.rules.protections import OpenedWindow, Protection, protections
from treatments.rules.wall_runs import NOT_DUE, why_left_out
from treatments.selectors.every_record import WITHOUT_EFFECT, windows_held

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ApplicationRecord

ZONES_A_READING = 500
OPENED = (
    "pk",
    "zone_id",
    "pest_group",
    "treated_area_id",
    "historic_id",
    "applied_on",
    "expires_on",
)
# the day by the office's word, where it said another one
_LAST = WindowOverride.objects.filter(window=OuterRef("pk")).order_by("-pk")
BY_THE_OFFICE = Subquery(_LAST.values("expires_on")[:1])
LAPSES_ON = Coalesce(BY_THE_OFFICE, "expires_on")


def effective_windows(zone_ids: Collection[int] | None = None) -> QuerySet[ResidualWindow]:
    """Windows of historic treatments and of records in force: nothing follows them."""
    rows = ResidualWindow.objects.exclude(
        treated_area__record__later_entries__entry__in=WITHOUT_EFFECT
    )
    return rows if zone_ids is None else rows.filter(zone_id__in=zone_ids)


def windows_of(zone_ids: Collection[int]) -> dict[int, list[ResidualWindow]]:
    """The effective windows of each zone, oldest first; two sources, one list.

    `is_part` is set on a window of a zone of which wall runs were left out.
    """
    found: dict[int, list[ResidualWindow]] = defaultdict(list)
    rows = effective_windows(zone_ids).annotate(is_part=Exists(_still_due()))
    rows = rows.select_related("historic", "treated_area__record").prefetch_related("overrides")
    for window in rows.order_by("applied_on", "pk"):
        found[window.zone_id].append(window)
    _settle_parts([one for some in found.values() for one in some if one.is_part])  # type: ignore[attr-defined]
    return found


def _still_due() -> QuerySet[TreatedRun]:
    """The runs of a window's zone that its treatment left due."""
    return TreatedRun.objects.filter(area=OuterRef("treated_area")).exclude(reason__in=NOT_DUE)


def _settle_parts(parts: Collection[Any]) -> None:
    """A part that is in force, since the other runs were treated too, is drawn as the whole."""
    if not parts:
        return
    held = {one.window for one in derived_protections({part.zone_id for part in parts})}
    reasons = _reasons([part.treated_area_id for part in parts])
    for part in parts:
        part.is_part = part.pk not in held
        part.left_out = reasons.get(part.treated_area_id, "")


def _reasons(area_ids: Collection[int]) -> dict[int, str]:
    """What was left out, by treated area: north wall (fence)."""
    found: dict[int, list[str]] = defaultdict(list)
    rows = TreatedRun.objects.filter(area__in=area_ids).exclude(reason__in=NOT_DUE).order_by("pk")
    for area_id, name, reason in rows.values_list("area_id", "name", "reason"):
        found[area_id].append(f"{name} ({why_left_out(reason)})")
    return {area_id: ", ".join(words) for area_id, words in found.items()}


def left_out_words(windows: Iterable[ResidualWindow]) -> str:
    """Which runs the last treatment of a zone left out and nothing has treated since."""
    newest = max(windows, key=lambda one: (one.applied_on, one.pk), default=None)
    if newest is None or not getattr(newest, "is_part", False):
        return ""
    return str(getattr(newest, "left_out", ""))


def line_of(name: str, windows: Iterable[ResidualWindow], size: str = "") -> ZoneLine:
    """A zone as it is drawn, from windows of `windows_of`: those of a part stand by themselves."""
    found = [
        (bool(getattr(one, "is_part", False)),
         LineWindow(one.applied_on, one.opens_on, one.lapses_on, f"{one.held_days} d"))
        for one in windows
    ]  # fmt: skip
    whole = tuple(window for is_part, window in found if not is_part)
    parts = tuple(window for is_part, window in found if is_part)
    return ZoneLine(name, whole, size, parts)


def protection_of(
    zone_ids: Collection[int], known: Mapping[int, Iterable[ResidualWindow]] | None = None
) -> dict[int, list[ZoneProtection]]:
    """The protection of each zone, the ones that count first.

    `known` are the windows of these zones from `windows_of`, so that they are not read twice.
    """
    found: dict[int, list[ZoneProtection]] = defaultdict(list)
    rows = ZoneProtection.objects.filter(zone_id__in=zone_ids)
    if known is None:
        rows = rows.select_related("window").prefetch_related("window__overrides")
    read = {one.pk: one for windows in (known or {}).values() for one in windows}
    for row in rows.order_by("-counts", "expires_on", "pk"):
        if row.window_id in read:
            row.window = read[row.window_id]
        found[row.zone_id].append(row)
    return found


def lapsing(*, before: date, branch_id: int | None = None) -> QuerySet[ZoneProtection]:
    """Protections that count and lapse before a day, by property; retired zones are left out."""
    rows = ZoneProtection.objects.filter(counts=True, expires_on__lt=before)
    rows = rows.filter(zone__retired_on=None).select_related("window", "zone__property")
    rows = rows.prefetch_related("window__overrides")
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
    return protections(_opened(_every_window() if zone_ids is None else windows_held(zone_ids)))


def _every_window() -> list[Any]:
    """The columns of `windows_held` for every zone."""
    rows = effective_windows().annotate(office=BY_THE_OFFICE, is_part=Exists(_still_due()))
    return list(rows.values_list(*OPENED, "office", "is_part"))


def _opened(rows: Collection[Any]) -> list[OpenedWindow]:
    """Windows as the rules take them, with the wall runs of zones that were treated in part.

    A second query only where there are any.
    """
    runs = _runs([area_id for _, _, _, area_id, *_, is_part in rows if is_part])
    return [
        OpenedWindow(
            pk, zone_id, group, _treatment(area_id, historic_id), applied_on, office or made,
            *runs.get(area_id, ()),
        )
        for pk, zone_id, group, area_id, historic_id, applied_on, made, office, _ in rows
    ]  # fmt: skip


def _runs(area_ids: Collection[int]) -> dict[int, tuple[frozenset[str], frozenset[str]]]:
    """The names of the runs treated and left out, by treated area."""
    found: dict[int, tuple[set[str], set[str]]] = defaultdict(lambda: (set(), set()))
    for some in in_portions(sorted(set(area_ids))):
        rows = TreatedRun.objects.filter(area__in=some)
        for area_id, name, reason in rows.values_list("area_id", "name", "reason"):
            found[area_id][reason not in NOT_DUE].add(name)
    return {area: (frozenset(done), frozenset(left)) for area, (done, left) in found.items()}


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
    return [sentence for _, sentence in protections_apart()]


def protections_apart() -> list[tuple[int, str]]:
    """The same with the zone of each difference."""
    stored, derived = set(stored_protections()), set(derived_protections())
    said = (
        ("Kept and not derivable", stored - derived),
        ("Derivable and not kept", derived - stored),
    )
    return [(one.zone_id, f"{word}: {_words(one)}") for word, some in said for one in sorted(some)]


def _words(one: Protection) -> str:
    counts = "counts" if one.counts else "does not count"
    return f"zone {one.zone_id}, {one.pest_group}, until {one.expires_on}, {counts}"


def windows_of_record(record_id: int) -> list[ResidualWindow]:
    """The windows one entry opened, whether it is in force or not."""
    rows = ResidualWindow.objects.filter(treated_area__record_id=record_id)
    return list(rows.order_by("pk"))


def window_for(person: Person, pk: int) -> ResidualWindow:
    """One window of a property the person may see, with its zone; otherwise Http404."""
    rows = ResidualWindow.objects.select_related("zone__property").prefetch_related("overrides")
    found = rows.filter(zone__property__branch__in=branches_for(person), pk=pk).first()
    if found is None:
        raise Http404("No such treatment.")
    return found


def treated_outside(first: date, last: date) -> list[tuple[ApplicationRecord, list[str]]]:
    """Records in force of these days with the zones treated that rain reaches, by name."""
    rows = TreatedArea.objects.filter(
        record__applied_on__range=(first, last), zone__is_rain_protected=False
    )
    rows = rows.exclude(record__later_entries__entry__in=WITHOUT_EFFECT)
    rows = rows.exclude(record__entry="void").exclude(place__in=INSIDE)
    rows = rows.exclude(zone__exposure=Exposure.SHELTERED).exclude(record__label_use=None)
    found: dict[int, tuple[ApplicationRecord, list[str]]] = {}
    for area in rows.select_related("record").order_by("record_id", "pk"):
        found.setdefault(area.record_id, (area.record, []))[1].append(area.zone_name)
    return list(found.values())


def counted_windows(
    branches: Collection[Any],
) -> tuple[dict[int, dict[int, list[tuple[date, date]]]], dict[int, tuple[str, str]]]:
    """Windows (applied on, lapses on) by property and zone, and street and town by property.

    Only pest groups that count for renewals, zones in use, customers we work for. One query.
    """
    counted = ZoneProtection.objects.filter(
        zone=OuterRef("zone"), pest_group=OuterRef("pest_group"), counts=True
    )
    rows = effective_windows().filter(Exists(counted), zone__property__branch__in=branches)
    rows = rows.filter(zone__retired_on=None, zone__property__customer__status="active")
    zones: dict[int, dict[int, list[tuple[date, date]]]] = defaultdict(lambda: defaultdict(list))
    names: dict[int, tuple[str, str]] = {}
    fields = ("zone__property_id", "zone_id", "applied_on", LAPSES_ON)
    for place, zone, applied_on, lapses_on, street, city in rows.values_list(
        *fields, "zone__property__street", "zone__property__city"
    ):
        zones[place][zone].append((applied_on, lapses_on))
        names[place] = street, city
    return zones, names


def last_windows_against(group: str, branch_ids: Collection[int]) -> dict[int, tuple[date, date]]:
    """Last day of treatment against a group at each property, and until when all zones hold.

    Only what counts for renewals; a zone that lapsed pulls the second day back.
    """
    rows = ZoneProtection.objects.filter(
        pest_group=group, zone__property__branch__in=branch_ids, zone__retired_on=None
    )
    found = rows.values("zone__property").annotate(
        last=Max("window__applied_on"), until=Min("expires_on")
    )
    return {one["zone__property"]: (one["last"], one["until"]) for one in found.order_by()}
