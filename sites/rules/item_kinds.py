"""The kinds of open items of the first floor: words and who must act."""

from __future__ import annotations

from collections.abc import Mapping

from accounts.rules.item_kinds import Acts, ItemKind

CUSTOMER_TASK, FINDING_REFERRED = "customer_task", "finding_referred"
TASK_REFERRED = "task_referred"
KINDS: Mapping[str, ItemKind] = {
    "wood_destroying_finding": ItemKind("Wood-destroying finding", Acts.OFFICE),
    "device_over_threshold": ItemKind("Device over its threshold", Acts.OFFICE),
    "device_missing": ItemKind("Device missing", Acts.OFFICE),
    "device_damaged": ItemKind("Device damaged", Acts.OFFICE),
    "sighting": ItemKind("Sighting without answer", Acts.OFFICE),
    "site_review_due": ItemKind("Yearly review due", Acts.OFFICE),
    CUSTOMER_TASK: ItemKind("Task of a customer", Acts.OFFICE),
    FINDING_REFERRED: ItemKind("Finding to refer", Acts.OFFICE),
    TASK_REFERRED: ItemKind("Animals behind a gap", Acts.OFFICE),
}
