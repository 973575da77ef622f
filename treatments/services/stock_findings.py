"""Closing what was found about stock, with a note."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import close_items, note_event
from treatments.rules.stock import CLOSED_BY_HAND

if TYPE_CHECKING:
    from accounts.models import OpenItem, Person


def close_finding(*, item: OpenItem, note: str, by: Person, now: datetime) -> None:
    """Close one finding about stock.

    Refused: no note, a finding that is closed, one that closes itself (below zero, an item
    missing on a vehicle).
    """
    require(by, Permission.EDIT_STOCK)
    if item.code not in CLOSED_BY_HAND:
        sentence = "This closes itself once it is set right: count the place, check the vehicle."
        raise Refused("finding", sentence)
    if not note.strip():
        raise Refused("finding", "Write what came of it.", field="note")
    if not close_items(code=item.code, thing=item.thing, note=note.strip(), now=now):
        raise Refused("finding", "Somebody has closed it already.")
    note_event(by=by, act="close_finding", thing=item, now=now, note=note.strip())
