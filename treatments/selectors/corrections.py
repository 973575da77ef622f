"""Requests to correct or void records, and which record somebody may complete."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from accounts.permissions import Permission, allows
from accounts.selectors.people import branches_for
from treatments.models import ApplicationRecord, CorrectionRequest
from treatments.rules.corrections import Change
from treatments.selectors.records import effective_records, with_names

if TYPE_CHECKING:
    from accounts.models import Person


NAMED = ("applicator", "label_use__label_version__product", "property__branch")
KEPT = ("treated_areas__runs", "personal_values", "answers")


def record_to_complete(person: Person, pk: int) -> ApplicationRecord:
    """A record somebody may complete or ask to correct, else Http404.

    The office those of its branches, a technician the own ones.
    """
    rows = completable(person).select_related(*NAMED).prefetch_related(*KEPT)
    return get_object_or_404(with_names(rows), pk=pk)


def may_complete(person: Person, record: ApplicationRecord) -> bool:
    """Whether somebody may complete a record or ask to correct it."""
    return completable(person).filter(pk=record.pk).exists()


def completable(person: Person) -> QuerySet[ApplicationRecord]:
    """Entries somebody may complete: the office those of its branches, technicians own ones."""
    rows = ApplicationRecord.objects.select_related("branch")
    if not allows(person, Permission.COMPLETE_RECORDS):
        return rows.none()
    if allows(person, Permission.SEE_CUSTOMERS):
        return rows.filter(branch__in=branches_for(person))
    return rows.filter(applicator=person)


def requests_for(person: Person) -> QuerySet[CorrectionRequest]:
    """Requests of the person's branches for who works there, else the own ones."""
    related = ("record__branch", "created_by", "decided_by")
    rows = CorrectionRequest.objects.select_related(*related)
    if allows(person, Permission.SEE_CUSTOMERS):
        return rows.filter(record__branch__in=branches_for(person))
    return rows.filter(created_by=person)


def request_for(person: Person, pk: int) -> CorrectionRequest:
    """One request the person may see, else Http404."""
    return get_object_or_404(requests_for(person), pk=pk)


def beside_in_tank(record: ApplicationRecord) -> list[ApplicationRecord]:
    """The records in force of the other products that one spray of a load put out with this one.

    What `refuse_apart` asks of them when they are recorded; none of a load of one product.
    """
    if not record.load_ref:
        return []
    same = {
        name: getattr(record, name)
        for name in ("load_ref", "property_id", "visit_ref", "started_at", "finished_at")
    }
    rows = effective_records().filter(**same, applicator=record.applicator_id)
    return list(rows.exclude(label_version=record.label_version_id).order_by("pk"))


def group_of(person: Person, pk: int) -> list[int]:
    """The keys of a request the person may see and of all that is decided with it, else Http404."""
    seen = request_for(person, pk)
    first = seen.together_with_id or seen.pk
    rows = CorrectionRequest.objects.filter(Q(pk=first) | Q(together_with=first))
    return list(rows.order_by("pk").values_list("pk", flat=True))


def changes_of(request: CorrectionRequest) -> tuple[Change, ...]:
    """What a request asks to change."""
    return tuple(Change(one["field"], one["old"], one["new"]) for one in request.changes)
