"""Items that a check opens, says anew and closes by itself."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from datetime import datetime
from itertools import islice
from typing import TypeVar

from django.db import transaction

from accounts.models import OpenItem
from accounts.rules.item_watch import Finding, Known, Steps, steps

GONE = "Found no more."
MOST_AT_ONCE = 500
Row = TypeVar("Row", int, str)


@transaction.atomic
def settle_items(
    *,
    codes: Collection[str],
    findings: Iterable[Finding],
    looked_at: Collection[str],
    now: datetime,
) -> Steps:
    """Bring the items of some codes in line with what was found about these things.

    Items about other things stay. One that a person closed stays closed while the same is found.
    """
    found = list(findings)
    todo = steps(found, _known(codes, {*looked_at, *(one.thing for one in found)}), looked_at)
    open_found(todo.opened)
    for pk, sentence in todo.said_anew:
        OpenItem.objects.filter(pk=pk, closed_at=None).update(sentence=sentence)
    for keys in _portions(todo.closed):
        still = OpenItem.objects.filter(pk__in=keys, closed_at=None)
        still.update(closed_at=now, closed_note=GONE)
    return todo


def open_found(findings: Iterable[Finding]) -> None:
    """Open an item for each finding, all in one statement; what is open already stays as it is."""
    OpenItem.objects.bulk_create(
        (
            OpenItem(branch_id=one.branch_id, code=one.code, thing=one.thing, sentence=one.sentence)
            for one in findings
        ),
        ignore_conflicts=True,
    )


def _known(codes: Collection[str], things: Iterable[str]) -> list[Known]:
    found = []
    for portion in _portions(sorted(things)):
        rows = OpenItem.objects.filter(code__in=codes, thing__in=portion).exclude(closed_note=GONE)
        for item in rows:
            is_answered = item.closed_at is not None
            found.append(Known(item.pk, item.code, item.thing, item.sentence, is_answered))
    return found


def _portions(rows: Iterable[Row]) -> Iterator[list[Row]]:
    left = iter(rows)
    while portion := list(islice(left, MOST_AT_ONCE)):
        yield portion


def move_items(*, codes: Collection[str], before: str, after: str) -> None:
    """What was open or answered about one thing is so about the one that took its place."""
    items = OpenItem.objects.filter(code__in=codes, thing=before).exclude(closed_note=GONE)
    items.update(thing=after)
