"""Giving a contact a link about one property, and taking it back."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from accounts.models import ContactLink, Customer, NoticeEvidence
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.day_end import end_of_day
from accounts.rules.notices import Evidence
from accounts.selectors.contact_links import contact_link_for
from accounts.selectors.customers import contact_for
from accounts.selectors.inspectors import digest_of
from accounts.selectors.pages import local_day
from accounts.services.audit import note_event
from accounts.services.inspectors import TOKEN_BYTES

if TYPE_CHECKING:
    from accounts.models import Contact, Notice, Person

LONGEST = timedelta(days=400)  # house rule: a year, and the weeks around a yearly review


@dataclass(frozen=True)
class GivenLink:
    """A link and its token, which is never shown again."""

    link: ContactLink
    token: str


@transaction.atomic
def give_link(
    *, contact_id: int, property_ref: int, last_day: date, by: Person | None, now: datetime
) -> GivenLink:
    """Make a link that ends with a day at the branch; the caller knows whose property it is.

    Refused: a customer whose account is closed, a day that is over or more than 400 days ahead.
    """
    require(by, Permission.EDIT_CUSTOMERS)
    contact = contact_for(by, contact_id)
    customer = contact.customer
    if customer.status != Customer.Status.ACTIVE:
        raise Refused("link", f"The account of {customer} is closed.", field="contact")
    zone = customer.branch.time_zone
    _refuse_day(last_day, local_day(zone, now))
    return _made(contact, property_ref, last_day, by, now)


def _made(
    contact: Contact,
    property_ref: int,
    last_day: date,
    by: Person | None,
    now: datetime,
    made_for: Notice | None = None,
) -> GivenLink:
    zone = contact.customer.branch.time_zone
    token = secrets.token_urlsafe(TOKEN_BYTES)
    link = ContactLink.objects.create(
        contact=contact,
        property_ref=property_ref,
        made_for=made_for,
        token_sha256=digest_of(token),
        expires_at=end_of_day(datetime.combine(last_day, time(12), ZoneInfo(zone)), zone),
        created_at=now,
        created_by=by,
    )
    note_event(by=by, act="contact_link_given", thing=link, now=now, property=property_ref)
    return GivenLink(link, token)


@transaction.atomic
def link_for_notice(notice: Notice, now: datetime) -> str:
    """The address of a link made for one message; empty where the notice asks for none.

    Its token goes into the message alone. A contact who is gone, a closed account, a day that is
    over: no link.
    """
    contact = notice.link_contact
    if contact is None or notice.link_property_ref is None or notice.link_last_day is None:
        return ""
    is_over = notice.link_last_day < local_day(contact.customer.branch.time_zone, now)
    if is_over or contact.customer.status != Customer.Status.ACTIVE:
        return ""
    given = _made(
        contact, notice.link_property_ref, notice.link_last_day, None, now, made_for=notice
    )
    return str(settings.CONTACT_LINK_URL).format(token=given.token)


def _refuse_day(last_day: date, today: date) -> None:
    if not today <= last_day <= today + LONGEST:
        raise Refused(
            "link",
            f"Choose a last day from today to {LONGEST.days} days ahead.",
            field="last_day",
        )


@transaction.atomic
def take_link_back(*, link_id: int, by: Person | None, now: datetime) -> ContactLink:
    """End a link and what it opened at once; again is no change."""
    require(by, Permission.EDIT_CUSTOMERS)
    link = contact_link_for(by, link_id)
    if ContactLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now):
        note_event(by=by, act="contact_link_taken_back", thing=link, now=now)
    return link


@transaction.atomic
def note_opened(*, link: ContactLink, now: datetime) -> None:
    """Note that a link was opened; the caller has looked whether it lasts."""
    ContactLink.objects.filter(pk=link.pk).update(last_opened_at=now)
    note_event(by=str(link), act="contact_link_opened", thing=link, now=now)
    if link.made_for_id is not None:
        NoticeEvidence.objects.get_or_create(
            notice_id=link.made_for_id, kind=Evidence.OPENED, defaults={"at": now}
        )
