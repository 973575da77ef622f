"""What the database holds of a stop, to see that a refusal changed nothing of it."""

from __future__ import annotations

from accounts.models import AuditEvent
from scheduling.models import Renewal, Visit, VisitApplication
from treatments.models import (
    ApplicationJudgement,
    ApplicationRecord,
    LogEntry,
    LogFrontier,
    RecordPersonalValue,
    ResidualWindow,
    SafetyAnswer,
    TreatedArea,
    ZoneProtection,
)

TABLES = (
    ApplicationRecord,
    ApplicationJudgement,
    AuditEvent,
    LogEntry,
    LogFrontier,
    RecordPersonalValue,
    Renewal,
    ResidualWindow,
    SafetyAnswer,
    TreatedArea,
    Visit,
    VisitApplication,
    ZoneProtection,
)


def everything() -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table that recording at a stop writes."""
    return {table.__name__: list(table.objects.order_by("pk").values_list()) for table in TABLES}
