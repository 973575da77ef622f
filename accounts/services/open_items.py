"""Closing a matter by hand."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.models import OpenItem
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.open_items import item_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def close_item(*, item_id: int, note: str, by: Person, now: datetime) -> None:
    """Close one item with what came of it.

    Refused: no note, an item that somebody closed before.
    """
    require(by, Permission.CLOSE_OPEN_ITEMS)
    item = item_for(by, item_id)
    if not note.strip():
        raise Refused("note", "Say what was done about it.", field="note")
    still_open = OpenItem.objects.filter(pk=item.pk, closed_at=None)
    if not still_open.update(closed_at=now, closed_note=note.strip()):
        raise Refused("closed", "Somebody closed this before you. Go back and see the note.")
    note_event(by=by, act="close_item", thing=item, now=now, code=item.code)
