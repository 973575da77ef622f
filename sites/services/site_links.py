"""Opening a logbook to the customer: links of contacts and the code printed in it."""

from __future__ import annotations

import secrets
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.customers import contacts_of
from accounts.services.audit import note_event
from accounts.services.contact_links import GivenLink, give_link
from sites.models import SiteCode
from sites.rules.site_codes import ALPHABET, CODE_LENGTH, code_of
from sites.selectors.properties import property_for
from sites.services.locks import lock_property

if TYPE_CHECKING:
    from accounts.models import Person


def give_logbook_link(
    *, property_id: int, contact_id: int, last_day: date, by: Person, now: datetime
) -> GivenLink:
    """A link to the logbook of a property for a contact of its customer.

    Refused: a contact of somebody else, a day out of reach (see `give_link`).
    """
    require(by, Permission.EDIT_CUSTOMERS)
    place = property_for(by, property_id)
    if not contacts_of(place.customer_id).filter(pk=contact_id).exists():
        raise Refused("link", "Choose a contact of this customer.", field="contact")
    return give_link(
        contact_id=contact_id, property_ref=place.pk, last_day=last_day, by=by, now=now
    )


@transaction.atomic
def make_code(*, property_id: int, by: Person, now: datetime) -> SiteCode:
    """Another code for the logbook of a property; the one before opens nothing any more."""
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    lock_property(place.pk)
    SiteCode.objects.filter(property=place, revoked_at=None).update(revoked_at=now)
    picks = [secrets.randbelow(len(ALPHABET)) for _ in range(CODE_LENGTH)]
    made = SiteCode.objects.create(
        property=place, code=code_of(picks), created_at=now, created_by=by
    )
    note_event(by=by, act="site_code_made", thing=place, now=now)
    return made


@transaction.atomic
def take_code_back(*, property_id: int, by: Person, now: datetime) -> None:
    """End the code of a property; again is no change."""
    require(by, Permission.EDIT_PROPERTIES)
    place = property_for(by, property_id)
    if SiteCode.objects.filter(property=place, revoked_at=None).update(revoked_at=now):
        note_event(by=by, act="site_code_taken_back", thing=place, now=now)
