"""Reading records: one record, a property's history, the use log and its totals."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery, Sum
from django.http import Http404

from accounts.permissions import Permission, allows
from accounts.selectors.people import branches_for
from sites.rules.places import PLACE_WORDS, Place
from sites.rules.units import Amount, display, shelf_unit
from treatments.models import ApplicationRecord, HistoricTreatment, RecordPersonalValue, TreatedArea
from treatments.rules.effective import ENTRY_WORDS, EntryKind
from treatments.selectors.record_words import (
    WORST_FIRST,
    address_of,
    area_words,
    as_entered,
    how_of,
    rate_words,
    what_of,
    worst_of,
)

if TYPE_CHECKING:
    from accounts.models import Person

SHOWN_LINES = ("treated_areas", "judgements")


@dataclass(frozen=True)
class UseLogFilter:
    """What the use log is narrowed to; everything empty is everything.

    `product` is a product's name, `severity` the least grave judgement a record must have.
    """

    branch_id: int | None = None
    since: date | None = None
    until: date | None = None
    product: str = ""
    applicator_id: int | None = None
    property_id: int | None = None
    severity: str = ""


@dataclass(frozen=True)
class UseRow:
    """One row of the use log, in words ready to show or export."""

    pk: int
    applied_on: date
    product: str
    registration_number: str
    method: str
    amount: str
    finished: str
    area: str
    rate: str
    applicator: str
    license_number: str
    customer: str
    address: str
    zones: str
    places: str
    pests: str
    worst: str
    visit_ref: str
    url: str
    entry: str
    is_void: bool


@dataclass(frozen=True)
class ProductTotal:
    """What was used of one product: applications, amount with unit, treated area."""

    product: str
    registration_number: str
    applications: int
    amount: str
    area: str


@dataclass(frozen=True)
class HistoryRow:
    """One earlier treatment of a property; `pk` is None for what the firm's spreadsheet says."""

    on: date
    product: str
    applicator: str
    zones: str
    until: date | None
    pk: int | None
    done: str = ""


def effective_records() -> QuerySet[ApplicationRecord]:
    """What counts: the last entry of every record that was not voided."""
    return ApplicationRecord.objects.effective()


def _personal(field: str) -> Subquery:
    rows = RecordPersonalValue.objects.filter(record=OuterRef("pk"), field=field)
    return Subquery(rows.values("value")[:1])


def with_names(records: QuerySet[ApplicationRecord]) -> QuerySet[ApplicationRecord]:
    """Add customer, street and applicator as they were said that day."""
    return records.select_related("branch").annotate(
        customer_name=_personal("customer_name"),
        street=_personal("street"),
        applicator_name=_personal("applicator_name"),
    )


def use_log(wanted: UseLogFilter) -> QuerySet[ApplicationRecord]:
    """The last entry of every record, newest first, for a paginator; a void stands there marked.

    Show a page through `use_rows`.
    """
    rows = _narrowed(wanted, ApplicationRecord.objects.standing())
    return with_names(rows).prefetch_related(*SHOWN_LINES).order_by("-applied_on", "-pk")


def _narrowed(
    wanted: UseLogFilter, entries: QuerySet[ApplicationRecord]
) -> QuerySet[ApplicationRecord]:
    filters = {
        "branch_id": wanted.branch_id,
        "applied_on__gte": wanted.since,
        "applied_on__lte": wanted.until,
        "product_name": wanted.product or None,
        "applicator_id": wanted.applicator_id,
        "property_id": wanted.property_id,
    }
    rows = entries.filter(**{name: value for name, value in filters.items() if value is not None})
    if wanted.severity in WORST_FIRST:
        graver = WORST_FIRST[: WORST_FIRST.index(wanted.severity) + 1]
        rows = rows.filter(judgements__severity__in=graver).distinct()
    return rows


def use_rows(records: Iterable[ApplicationRecord]) -> list[UseRow]:
    """The rows of one page of `use_log`."""
    return [_use_row(record) for record in records]


def _use_row(record: ApplicationRecord) -> UseRow:
    areas = record.treated_areas.all()
    places = dict.fromkeys(PLACE_WORDS[Place(area.place)] for area in areas)
    return UseRow(
        pk=record.pk,
        applied_on=record.applied_on,
        product=record.product_name or how_of(record),
        registration_number=record.registration_number,
        method=how_of(record),
        amount=as_entered(record.product_amount, record.product_unit),
        finished=as_entered(record.finished_amount, record.finished_unit),
        area=area_words(record.area_mm2, record.branch.units),
        rate=rate_words(record),
        applicator=getattr(record, "applicator_name", "") or "",
        license_number=record.license_number,
        customer=getattr(record, "customer_name", "") or "",
        address=address_of(record, getattr(record, "street", "") or ""),
        zones=", ".join(area.zone_name for area in areas),
        places=", ".join(places),
        pests=", ".join(record.pests),
        worst=worst_of(record),
        visit_ref=record.visit_ref,
        url=record.get_absolute_url(),
        entry="" if record.entry == EntryKind.RECORD else ENTRY_WORDS[EntryKind(record.entry)],
        is_void=record.entry == EntryKind.VOID,
    )


def totals(wanted: UseLogFilter) -> list[ProductTotal]:
    """Amounts by product over the whole selection, in one query."""
    chosen = ApplicationRecord.objects.filter(
        pk__in=_narrowed(wanted, effective_records()).values("pk")
    )
    rows = chosen.exclude(product_name="").values("product_name", "registration_number")
    rows = rows.annotate(
        system=Max("branch__units"),  # metric where every branch is: us sorts after it
        applications=Count("pk"),
        volume=Sum("product_ul"),
        mass=Sum("product_mg"),
        area=Sum("area_mm2"),
    )
    return [
        ProductTotal(
            product=row["product_name"],
            registration_number=row["registration_number"],
            applications=row["applications"],
            amount=_amount_words(row["volume"], row["mass"], row["system"]),
            area=area_words(row["area"], row["system"]),
        )
        for row in rows.order_by("product_name", "registration_number")
    ]


def _amount_words(volume: int | None, mass: int | None, system: str) -> str:
    parts = []
    if volume is not None:
        parts.append(display(Amount(Decimal(volume), "uL").to(shelf_unit("fl_oz", system)), 2))
    if mass is not None:
        parts.append(display(Amount(Decimal(mass), "mg").to(shelf_unit("oz_wt", system)), 2))
    return ", ".join(parts)


def products_used() -> list[str]:
    """Names of the products that stand in records, for the filter."""
    rows = ApplicationRecord.objects.exclude(product_name="").order_by("product_name")
    return list(rows.values_list("product_name", flat=True).distinct())


def applicators_used() -> list[tuple[int, str]]:
    """Who made records, by name, for the filter."""
    rows = ApplicationRecord.objects.order_by("applicator__full_name")
    return list(rows.values_list("applicator_id", "applicator__full_name").distinct())


def record_for(
    person: Person, pk: int, property_ids: Collection[int] = frozenset()
) -> ApplicationRecord:
    """One record for somebody who may see it, else Http404.

    Who may see the use log sees every record, the office those of its branches; an applicator
    their own and those of `property_ids`, the properties of their stops around now.
    """
    mine = Q(applicator=person) | Q(property_id__in=property_ids)
    if allows(person, Permission.SEE_CUSTOMERS):
        mine |= Q(branch__in=branches_for(person))
    related = ("created_by", "approved_by", "applicator", "label_use", "label_version")
    shown = ApplicationRecord.objects.select_related(*related).prefetch_related(*SHOWN_LINES)
    rows = with_names(shown)
    if not allows(person, Permission.SEE_USE_LOG):
        rows = rows.filter(mine) if allows(person, Permission.COMPLETE_RECORDS) else rows.none()
    record = rows.filter(pk=pk).first()
    if record is None:
        raise Http404
    return record


def records_of_visit(visit_ref: str) -> list[ApplicationRecord]:
    """The effective records of one visit, in the order they were made; the caller may see it."""
    if not visit_ref:
        return []
    rows = effective_records().filter(visit_ref=visit_ref)
    return list(with_names(rows).prefetch_related(*SHOWN_LINES).order_by("pk"))


def keys_of_visit(visit_ref: str) -> list[int]:
    """The keys of the same records, in the same order."""
    rows = effective_records().filter(visit_ref=visit_ref).order_by("pk")
    return list(rows.values_list("pk", flat=True)) if visit_ref else []


def zones_of_visit(visit_ref: str) -> set[int]:
    """The zones that the same records treated."""
    records = effective_records().filter(visit_ref=visit_ref).order_by().values("pk")
    areas = TreatedArea.objects.filter(record__in=records)
    return set(areas.values_list("zone_id", flat=True)) if visit_ref else set()


def history_of(property_id: int, limit: int = 50) -> list[HistoryRow]:
    """Earlier treatments of a property from records and spreadsheet, newest first."""
    records = effective_records().filter(property_id=property_id)
    records = with_names(records).annotate(work_done=_personal("work_done"))
    records = records.prefetch_related("treated_areas__windows__overrides")
    historic = HistoricTreatment.objects.filter(zone__property_id=property_id)
    historic = historic.select_related("zone").prefetch_related("windows__overrides")
    rows = [
        *(_recorded(record) for record in records.order_by("-applied_on", "-pk")[:limit]),
        *(_written(row) for row in historic.order_by("-applied_on", "-pk")[:limit]),
    ]
    return sorted(rows, key=lambda row: (row.on, row.pk or 0), reverse=True)[:limit]


def _recorded(record: ApplicationRecord) -> HistoryRow:
    areas = list(record.treated_areas.all())
    ends = [window.lapses_on for area in areas for window in area.windows.all()]
    return HistoryRow(
        on=record.applied_on,
        product=what_of(record),
        applicator=getattr(record, "applicator_name", "") or "",
        zones=", ".join(area.zone_name for area in areas),
        until=max(ends, default=None),
        pk=record.pk,
        done=getattr(record, "work_done", "") or "",
    )


def _written(row: HistoricTreatment) -> HistoryRow:
    ends = [window.lapses_on for window in row.windows.all()]
    return HistoryRow(
        on=row.applied_on,
        product=row.product_as_written or "Product not written",
        applicator=row.applicator_as_written,
        zones=row.zone.name,
        until=max(ends, default=None),
        pk=None,
    )


def pests_treated_among(property_ids: Collection[int]) -> dict[int, list[str]]:
    """By property the common names of what its records in force were made against; one query."""
    rows = effective_records().filter(property_id__in=property_ids).order_by("pk")
    found: dict[int, list[str]] = {pk: [] for pk in property_ids}
    for pk, names in rows.values_list("property_id", "pests"):
        found[pk] += names
    return found
