"""Who entered a label and when: nobody of them is its second person."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from accounts.permissions import Permission
from accounts.selectors.audit import events_about
from accounts.selectors.people import others_who_may
from treatments.models import LabelVersion

if TYPE_CHECKING:
    from accounts.models import Person

ALONE_AFTER = timedelta(hours=24)
ENTERING = (
    "enter_label",
    "edit_label",
    "add_direction",
    "edit_direction",
    "add_limit",
    "edit_limit",
    "add_protection",
    "edit_protection",
)


def written_by(version: LabelVersion) -> set[int | None]:
    """Everybody who wrote a part of the label, also what somebody wrote anew since.

    A row names who wrote it last; who wrote it before stands in the audit events.
    """
    events = events_about(_names(version), ENTERING).values_list("person_id", flat=True)
    rows = {row.created_by_id for row in _rows(version)}
    return {*rows, *(int(pk) for pk in events if pk)}


def alone_from(version: LabelVersion) -> datetime:
    """When who entered the label may verify it where nobody else may: 24 h after its last part."""
    events = events_about(_names(version), ENTERING).values_list("at", flat=True)
    last: datetime = max([*events, *(row.created_at for row in _rows(version))])
    return last + ALONE_AFTER


def is_alone(person: Person) -> bool:
    """Whether nobody else at work in the firm may verify labels."""
    return not others_who_may(person, Permission.EDIT_LABELS).exists()


def _rows(version: LabelVersion) -> list[Any]:
    parts = (version.uses, version.limits, version.protections)
    return [version, *(row for part in parts for row in part.all())]


def _names(version: LabelVersion) -> list[str]:
    return [f"{row._meta.label_lower}:{row.pk}" for row in _rows(version)]
