"""Noting what was done, by whom, to which thing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from django.utils import timezone

from accounts.models import AuditEvent, OpenItem

if TYPE_CHECKING:
    from accounts.models import Person

NAME_LENGTH = 120


def note_event(
    *,
    by: Person | str | None,
    act: str,
    thing: object,
    now: datetime | None = None,
    **details: object,
) -> AuditEvent:
    """Append one audit event.

    `thing` is a row (named by table and key) or a text; `details` must be plain JSON values;
    `by` is a text for somebody without an account.
    """
    return AuditEvent.objects.create(
        at=now or timezone.now(),
        person_id="" if by is None or isinstance(by, str) else str(by.pk),
        person_name=_named(by),
        act=act,
        thing=name_of(thing),
        details=details,
    )


def _named(by: Person | str | None) -> str:
    if by is None or isinstance(by, str):
        return (by or "the system")[:NAME_LENGTH]
    return by.full_name


def name_of(thing: object) -> str:
    """Name a row by table and key, anything else by its text."""
    meta = getattr(thing, "_meta", None)
    return f"{meta.label_lower}:{thing.pk}" if meta else str(thing)  # type: ignore[attr-defined]


def open_item(*, branch_id: int, code: str, thing: object, sentence: str) -> OpenItem:
    """Open a matter for the office or a manager; the same matter is open at most once."""
    item, _ = OpenItem.objects.get_or_create(
        code=code,
        thing=name_of(thing),
        closed_at=None,
        defaults={"branch_id": branch_id, "sentence": sentence},
    )
    return item


def open_item_once(*, branch_id: int, code: str, thing: object, sentence: str) -> None:
    """Open a matter that what stands in the tables will always show, unless it was ever opened."""
    if not OpenItem.objects.filter(code=code, thing=name_of(thing)).exists():
        open_item(branch_id=branch_id, code=code, thing=thing, sentence=sentence)


def close_items(*, code: str, thing: object, note: str, now: datetime) -> int:
    """Close what is open under a code about a thing, with a note; how many there were."""
    still_open = OpenItem.objects.filter(code=code, thing=name_of(thing), closed_at=None)
    return still_open.update(closed_at=now, closed_note=note)


def keep_item(
    *, branch_id: int, code: str, thing: str, sentence: str, gone: Sequence[str], now: datetime
) -> None:
    """Keep a matter in line with what is found of it: open it, say it anew, or close it.

    An empty sentence closes it with the first note of `gone`, the notes that no person writes.
    What a person has closed with another note stays closed until the sentence is another one.
    """
    of_it = OpenItem.objects.filter(code=code, thing=thing)
    if not sentence:
        close_items(code=code, thing=thing, note=gone[0], now=now)
    elif of_it.filter(closed_at=None).exists():
        of_it.filter(closed_at=None).exclude(sentence=sentence).update(sentence=sentence)
    else:
        last = of_it.order_by("-closed_at", "-pk").first()
        if last is None or last.sentence != sentence or last.closed_note in gone:
            open_item(branch_id=branch_id, code=code, thing=thing, sentence=sentence)
