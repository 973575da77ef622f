"""Records with gaps that somebody may fill, the soonest deadline first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.core.paginator import Page
from django.db.models import F, QuerySet

from accounts.selectors.open_items import things_open
from accounts.selectors.pages import page_of
from treatments.models import ApplicationRecord
from treatments.rules.audit.kinds import AMOUNT, INCOMPLETE
from treatments.selectors.audit import keys_of
from treatments.selectors.corrections import completable
from treatments.selectors.record_words import address_of
from treatments.selectors.records import with_names
from treatments.selectors.rule_gaps import MISSING

if TYPE_CHECKING:
    from accounts.models import Person

GAPS = (INCOMPLETE, AMOUNT)
MISSING_AMOUNT = "product_amount"


@dataclass(frozen=True)
class ToComplete:
    """One record with what it lacks; `due` is the state's deadline, if one has any."""

    record: ApplicationRecord
    place: str
    applicator: str
    gaps: tuple[tuple[str, str], ...]
    due: datetime | None
    is_over: bool


@dataclass(frozen=True)
class Waiting:
    """How many records of somebody wait for a gap to be filled, and until when the first."""

    count: int
    due: datetime | None


def to_complete(
    person: Person, now: datetime, number: object
) -> tuple[Sequence[ToComplete], Page[Any]]:
    """One page of the records that the person may complete, with their gaps."""
    rows = with_names(_with_gaps(person)).prefetch_related("judgements")
    page = page_of(_soonest_first(rows), number)
    return [_row(record, now) for record in page.object_list], page


def own_waiting(person: Person) -> Waiting:
    """How many of the person's own records have a gap; two queries."""
    rows = _soonest_first(_with_gaps(person).filter(applicator=person))
    dues = list(rows.values_list("complete_by", flat=True))
    return Waiting(len(dues), dues[0] if dues else None)


def _with_gaps(person: Person) -> QuerySet[ApplicationRecord]:
    keys = keys_of(things_open(GAPS))
    return completable(person).filter(pk__in=keys, later_entries=None)


def _soonest_first(rows: QuerySet[ApplicationRecord]) -> QuerySet[ApplicationRecord]:
    return rows.order_by(F("complete_by").asc(nulls_last=True), "finished_at", "pk")


def _row(record: ApplicationRecord, now: datetime) -> ToComplete:
    judged = record.judgements.all()
    said: dict[str, list[str]] = {}
    for one in judged:
        if one.code == MISSING or (one.code == MISSING_AMOUNT and one.severity != "note"):
            said.setdefault(one.sentence, []).append(one.clause)
    return ToComplete(
        record=record,
        place=address_of(record, getattr(record, "street", "") or ""),
        applicator=getattr(record, "applicator_name", "") or "",
        gaps=tuple((sentence, "; ".join(clauses)) for sentence, clauses in said.items()),
        due=record.complete_by,
        is_over=record.complete_by is not None and record.complete_by < now,
    )
