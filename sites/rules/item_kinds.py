"""The kinds of open items of what is found in a building: words and who must act."""

from __future__ import annotations

from collections.abc import Mapping

from accounts.rules.item_kinds import Acts, ItemKind

CUSTOMER_TASK, FINDING_REFERRED = "customer_task", "finding_referred"
TASK_REFERRED = "task_referred"
KINDS: Mapping[str, ItemKind] = {
    CUSTOMER_TASK: ItemKind("Task of a customer", Acts.OFFICE),
    FINDING_REFERRED: ItemKind("Finding to refer", Acts.OFFICE),
    TASK_REFERRED: ItemKind("Animals behind a gap", Acts.OFFICE),
}
