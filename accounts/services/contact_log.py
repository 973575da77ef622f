"""Writing down who was talked to."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.models import ContactEntry
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.contact_log import OUTCOME_WORDS, WAY_WORDS, again_on, refuse_day
from accounts.rules.lines import line, one_of
from accounts.selectors.customers import contacts_of, customer_for
from accounts.selectors.pages import local_day
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Contact, Customer, Person


@transaction.atomic
def note_contact(
    *,
    customer_id: int,
    way: str,
    outcome: str,
    contact_id: int | None = None,
    property_ref: int | None = None,
    said: str = "",
    call_again_on: date | None = None,
    by: Person,
    now: datetime,
) -> ContactEntry:
    """Keep one try to reach a customer or one call of theirs.

    Without a day to call again, one is proposed where nobody answered. Refused: a way or outcome
    that is none, somebody else's contact, words over 500 letters, a day that is over.
    """
    require(by, Permission.EDIT_CUSTOMERS)
    customer = customer_for(by, customer_id)
    contact = _contact(customer, contact_id)
    today = local_day(customer.branch.time_zone, now)
    refuse_day(call_again_on, today)
    made = ContactEntry.objects.create(
        customer=customer,
        contact=contact,
        property_ref=property_ref,
        way=one_of(way, list(WAY_WORDS), field="way", label="How"),
        outcome=one_of(outcome, list(OUTCOME_WORDS), field="outcome", label="What came of it"),
        name=contact.name if contact else customer.name[:120],
        said=line(said, field="said", label="What was said", most=500, needed=False),
        call_again_on=call_again_on or again_on(outcome, today),
        created_by=by,
        created_at=now,
    )
    note_event(by=by, act="contact_noted", thing=made, now=now, outcome=outcome)
    return made


def _contact(customer: Customer, contact_id: int | None) -> Contact | None:
    if contact_id is None:
        return None
    found = contacts_of(customer.pk).filter(pk=contact_id).first()
    if found is None:
        raise Refused("to", "Choose a contact of this customer.", field="contact_id")
    return found
