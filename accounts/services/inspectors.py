"""Receiving an inspector for a day: a link that opens once, taken back at any time."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from accounts.models import InspectorVisit
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_end import end_of_day
from accounts.selectors.inspectors import digest_of, inspector_visit_for, unopened_visit
from accounts.selectors.people import branch_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person

TOKEN_BYTES = 32
NO_LINK = (
    "This link was used already, was taken back, or its day is over. Ask the manager of the firm "
    "for a new one."
)


@dataclass(frozen=True)
class Received:
    """A visit and the path of its link, which is never shown again."""

    visit: InspectorVisit
    path: str

    @property
    def url(self) -> str:
        """The whole address of the link."""
        return f"{settings.BASE_URL.rstrip('/')}{self.path}"


@transaction.atomic
def receive_inspector(
    *, branch_id: int, inspector_name: str, agency: str, by: Person, now: datetime
) -> Received:
    """Open the desk of a branch to an inspector until the end of the day there.

    Refused: a name or an agency left empty.
    """
    require(by, Permission.RECEIVE_INSPECTORS)
    branch = branch_for(by, branch_id)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    visit = InspectorVisit.objects.create(
        branch=branch,
        inspector_name=_given(inspector_name, "inspector_name", "Write the inspector's name."),
        agency=_given(agency, "agency", "Write the agency."),
        token_sha256=digest_of(token),
        ends_at=end_of_day(now, branch.time_zone),
        created_at=now,
        created_by=by,
    )
    note_event(by=by, act="inspector_received", thing=visit, now=now, branch=branch.pk)
    return Received(visit, reverse("inspection_enter", args=[token]))


def _given(text: str, field: str, sentence: str) -> str:
    if not text.strip():
        raise Refused("inspector", sentence, field=field)
    return text.strip()


@transaction.atomic
def enter_desk(*, token: str, now: datetime) -> InspectorVisit:
    """Use up a link; of two at once one gets in. Refused: used, taken back, over, never made."""
    visit = unopened_visit(token, now)
    still = InspectorVisit.objects.filter(opened_at=None, revoked_at=None)
    if visit is None or not still.filter(pk=visit.pk).update(opened_at=now):
        raise Refused("inspection_link", NO_LINK)
    note_event(by=str(visit), act="inspector_entered", thing=visit, now=now)
    return visit


@transaction.atomic
def revoke_inspector(*, visit_id: int, by: Person, now: datetime) -> InspectorVisit:
    """Take a link back and end what it opened; again is no change."""
    require(by, Permission.RECEIVE_INSPECTORS)
    visit = inspector_visit_for(by, visit_id)
    if InspectorVisit.objects.filter(pk=visit.pk, revoked_at=None).update(revoked_at=now):
        note_event(by=by, act="inspector_revoked", thing=visit, now=now)
    return visit
