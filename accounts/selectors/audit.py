"""Reading what was done to which thing."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import QuerySet

from accounts.models import AuditEvent


def events_about(things: Collection[str], acts: Collection[str]) -> QuerySet[AuditEvent]:
    """Events of some acts on things by their names (table and key), newest first."""
    return AuditEvent.objects.filter(thing__in=things, act__in=acts)
