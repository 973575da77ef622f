"""Asking the certified applicator about a use the label does not name, and signing the answer."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line
from accounts.services.audit import close_items, note_event, open_item
from sites.rules.places import PestGroup
from sites.selectors.properties import property_for
from treatments.models import LabelUse, UnlistedUseDecision
from treatments.rules.label_checks.decisions import to_decide
from treatments.rules.products import LABEL_METHODS, Method
from treatments.selectors.decisions import (
    certified_license,
    question_for,
    question_words,
    waiting,
)
from treatments.selectors.label_facts import label_facts
from treatments.selectors.whole import direction_named, pests_by_ids

if TYPE_CHECKING:
    from accounts.models import Person

OPEN_CODE = "unlisted_use"


@transaction.atomic
def ask_unlisted_use(
    *,
    property_id: int,
    label_use_id: int,
    method: str,
    pest_ids: Collection[int],
    by: Person,
    visit_ref: str = "",
) -> UnlistedUseDecision:
    """Ask whether a use may be made that the direction does not name; the same is asked once.

    Refused: a property or direction that does not exist, a use that the label names, one that it
    forbids.
    """
    require(by, Permission.RECORD_APPLICATIONS)
    use, pests = _asked(label_use_id, method, pest_ids)
    found = waiting(property_id, visit_ref, use.pk, method, pests)
    if found is not None:
        return found
    question = UnlistedUseDecision.objects.create(
        property=property_for(None, property_id),
        visit_ref=visit_ref,
        label_use=use,
        method=method,
        pests=pests,
        created_by=by,
    )
    note_event(by=by, act="ask_unlisted_use", thing=question)
    return question


def _asked(label_use_id: int, method: str, pest_ids: Collection[int]) -> tuple[LabelUse, list[str]]:
    use = direction_named(label_use_id)
    if use is None or method not in LABEL_METHODS:
        raise Refused("direction", "Choose a direction and a method of the list first.")
    pests = {one.common_name: PestGroup(one.group) for one in pests_by_ids(tuple(pest_ids))}
    return use, sorted(to_decide(label_facts(use), Method(method), pests))


def send_to_office(*, question: UnlistedUseDecision, by: Person) -> None:
    """Make a question a matter for the office until somebody certified has decided it."""
    require(by, Permission.RECORD_APPLICATIONS)
    open_item(
        branch_id=question.property.branch_id,
        code=OPEN_CODE,
        thing=question,
        sentence=f"{by.full_name} asks: {question_words(question)}",
    )


@transaction.atomic
def decide_unlisted_use(
    *, question_id: int, is_allowed: bool, reason: str, by: Person, now: datetime
) -> UnlistedUseDecision:
    """Sign yes or no, once, by a certified applicator of the property's state on that day.

    The same signed again by the same person is the first answer. Refused: nobody certified there
    and then, no reason, a question decided before in other words or by somebody else.
    """
    require(by, Permission.DECIDE_UNLISTED_USE)
    question = question_for(by, question_id)
    day = now.astimezone(ZoneInfo(question.property.branch.time_zone)).date()
    license = certified_license(by.pk, question.property.state, day)
    if license is None:
        raise _not_certified(question.property.state)
    signed = UnlistedUseDecision.objects.filter(pk=question.pk, decided_at=None).update(
        is_allowed=is_allowed,
        reason=line(reason, field="reason", label="Reason", most=300),
        decided_by=by,
        license_number=license.number,
        license_state=license.state,
        decided_on=day,
        decided_at=now,
    )
    if not signed:
        return _first_answer(question, is_allowed, reason, by)
    close_items(code=OPEN_CODE, thing=question, note=_told(is_allowed, by), now=now)
    note_event(by=by, act="decide_unlisted_use", thing=question, now=now, is_allowed=is_allowed)
    question.refresh_from_db()
    return question


def _first_answer(
    question: UnlistedUseDecision, is_allowed: bool, reason: str, by: Person
) -> UnlistedUseDecision:
    """What was signed, where the same person sends the same again; else refused."""
    question.refresh_from_db()
    sent = (is_allowed, line(reason, field="reason", label="Reason", most=300), by.pk)
    if (question.is_allowed, question.reason, question.decided_by_id) != sent:
        raise Refused("decided", "This was decided already. Open the list again.")
    return question


def _not_certified(state: str) -> Refused:
    return Refused(
        "not_certified",
        f"Only a certified applicator with a license of {state} in force today may sign this. "
        "Ask one to sign in.",
    )


def _told(is_allowed: bool, by: Person) -> str:
    return f"{'Allowed' if is_allowed else 'Not allowed'} by {by.full_name}."
