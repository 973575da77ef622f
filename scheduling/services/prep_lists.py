"""Writing what customers are asked to prepare: the firm's lists and those of one property."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.services.audit import note_event
from scheduling.models import PrepList
from scheduling.rules.prep import Treatment, checked_lines
from sites.selectors.properties import property_for

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def save_list(*, treatment: Treatment, lines: str, by: Person, now: datetime) -> None:
    """Store the firm's own items of a treatment; empty: the house's list holds again.

    Refused: more than 20 items, one over 200 letters.
    """
    require(by, Permission.EDIT_NOTICE_TEMPLATES)
    _keep(checked_lines(lines), {"treatment": treatment}, by, now)


@transaction.atomic
def save_items(*, property_id: int, lines: str, by: Person, now: datetime) -> None:
    """Store the items that one property has beside those of the treatment; refused as above."""
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    _keep(checked_lines(lines), {"property_id": place.pk}, by, now)


def _keep(lines: str, of: dict[str, Any], by: Person, now: datetime) -> None:
    if lines:
        row, _ = PrepList.objects.update_or_create(
            **of, defaults={"lines": lines, "created_by": by, "created_at": now}
        )
        note_event(by=by, act="prep_list_saved", thing=row, now=now)
    else:
        PrepList.objects.filter(**of).delete()
        note_event(by=by, act="prep_list_dropped", thing="prep lists", now=now, of=str(of))
