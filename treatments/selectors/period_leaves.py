"""The closed periods of a branch against their leaves: a row changed behind the guards is found."""

from __future__ import annotations

import json
from typing import Any

from treatments.models import LogEntry, PeriodClose


def period_payload(row: PeriodClose) -> dict[str, Any]:
    """What the leaf of a closing or reopening says."""
    return {
        "version": 1,
        "period": row.pk,
        "kind": str(row.kind),
        "through": row.through.isoformat() if row.through else None,
        "reason": row.reason,
    }


def period_difference(branch_id: int) -> str:
    """The first row without a leaf that says the same, or leaf without a row; empty when none."""
    leaves = LogEntry.objects.filter(branch_id=branch_id, kind="period").order_by("seq")
    logged = {}
    for leaf in leaves.values_list("leaf", flat=True):
        said = json.loads(bytes(leaf))["payload"]
        logged[said["period"]] = said
    rows = PeriodClose.objects.filter(branch_id=branch_id).order_by("pk")
    kept = {row.pk: period_payload(row) for row in rows}
    for pk in sorted({*logged, *kept}):
        if logged.get(pk) != kept.get(pk):
            return f"Closed period {pk} is not in the table as it is in the log."
    return ""
