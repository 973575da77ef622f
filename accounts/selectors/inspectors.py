"""Reading visits of inspectors: by their link, by their session, and for the manager."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from accounts.models import InspectorVisit
from accounts.permissions import Permission, allows
from accounts.selectors.people import branches_for

if TYPE_CHECKING:
    from accounts.models import Person


def digest_of(token: str) -> str:
    """The SHA-256 of a link's token, which is all that is kept of it."""
    return sha256(token.encode()).hexdigest()


def unopened_visit(token: str, now: datetime) -> InspectorVisit | None:
    """The visit a link opens; None when it was used, is over or revoked, or was never made."""
    rows = InspectorVisit.objects.select_related("branch").filter(opened_at=None)
    visit = rows.filter(token_sha256=digest_of(token)).first()
    return visit if visit and visit.lasts(now) else None


def visit_at_the_desk(pk: object, now: datetime) -> InspectorVisit | None:
    """The visit of a session while it lasts."""
    if type(pk) is not int:  # True is an int to isinstance
        return None
    rows = InspectorVisit.objects.select_related("branch").filter(opened_at__isnull=False)
    visit = rows.filter(pk=pk).first()
    return visit if visit and visit.lasts(now) else None


def inspector_visits_for(person: Person) -> QuerySet[InspectorVisit]:
    """Visits at the person's branches, the newest first; none for who receives no inspector."""
    rows = InspectorVisit.objects.select_related("branch", "created_by")
    if not allows(person, Permission.RECEIVE_INSPECTORS):
        return rows.none()
    return rows.filter(branch__in=branches_for(person))


def inspector_visit_for(person: Person, pk: int) -> InspectorVisit:
    """One such visit; otherwise Http404."""
    return get_object_or_404(inspector_visits_for(person), pk=pk)
