"""The certified applicator's decision, signed or asked for at a stop."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from scheduling.models import Visit
from treatments.services.decisions import ask_unlisted_use, decide_unlisted_use, send_to_office

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import UnlistedUseDecision


@transaction.atomic
def sign_at_stop(
    *,
    visit_id: int,
    label_use_id: int,
    method: str,
    pest_ids: Collection[int],
    is_allowed: bool,
    reason: str,
    by: Person,
    now: datetime,
) -> UnlistedUseDecision:
    """Decide on the spot, by a technician who is certified.

    Refused: a stop of somebody else, nobody certified, a use that needs or bears no decision.
    """
    question = _asked(visit_id, label_use_id, method, pest_ids, by)
    return decide_unlisted_use(
        question_id=question.pk, is_allowed=is_allowed, reason=reason, by=by, now=now
    )


@transaction.atomic
def ask_from_stop(
    *, visit_id: int, label_use_id: int, method: str, pest_ids: Collection[int], by: Person
) -> UnlistedUseDecision:
    """Ask the office for somebody certified; refused as in `sign_at_stop`."""
    question = _asked(visit_id, label_use_id, method, pest_ids, by)
    send_to_office(question=question, by=by)
    return question


def _asked(
    visit_id: int, label_use_id: int, method: str, pest_ids: Collection[int], by: Person
) -> UnlistedUseDecision:
    require(by, Permission.WORK_STOPS)
    visit = Visit.objects.filter(pk=visit_id, technician=by).first()
    if visit is None:
        raise Refused("not_your_stop", "This stop is not yours. Go back to today's stops.")
    return ask_unlisted_use(
        property_id=visit.property_id,
        label_use_id=label_use_id,
        method=method,
        pest_ids=pest_ids,
        visit_ref=str(visit.ref),
        by=by,
    )
