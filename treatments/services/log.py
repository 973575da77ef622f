"""Adding a leaf to a branch's log, the last thing a transaction does."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from treatments.models import LogEntry, LogFrontier
from treatments.rules.log_tree import Frontier, leaf_hash
from treatments.selectors.payloads import leaf_bytes

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import ApplicationRecord


# no savepoint: nobody goes on after a failure here, and under a lock two statements are long
@transaction.atomic(savepoint=False)
def append_leaf(
    *,
    branch_id: int,
    kind: str,
    payload: Mapping[str, object],
    record: ApplicationRecord | None,
    by: Person | None,
    now: datetime,
) -> LogEntry:
    """Append one leaf to the branch's log.

    Takes the lock of the log, which is held until the caller's transaction ends: after this only
    inserts may follow (DEVELOPERS.md, "Order of locks"). The number comes from the frontier, so a
    gap is a deletion; the time of the log never goes back.
    """
    frontier = _locked_frontier(branch_id)
    at = max(now, frontier.last_at or now)
    record_id = record.pk if record else None
    leaf = leaf_bytes(
        seq=frontier.size,
        kind=kind,
        record_id=record_id,
        actor_id=by.pk if by else None,
        at=at,
        payload=payload,
    )
    entry = LogEntry.objects.create(
        branch_id=branch_id,
        seq=frontier.size,
        kind=kind,
        record=record,
        at=at,
        leaf=leaf,
        leaf_hash=leaf_hash(leaf).hex(),
    )
    _move_on(frontier, leaf_hash(leaf), at)
    return entry


def _locked_frontier(branch_id: int) -> LogFrontier:
    rows = LogFrontier.objects.select_for_update()
    return rows.get_or_create(branch_id=branch_id)[0]


def _move_on(frontier: LogFrontier, leaf: bytes, at: datetime) -> None:
    grown = Frontier.from_hex(frontier.size, frontier.nodes).append(leaf)
    frontier.size, frontier.nodes, frontier.last_at = grown.size, grown.to_hex(), at
    frontier.save(update_fields=["size", "nodes", "last_at"])
