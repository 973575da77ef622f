"""Reading links of contacts: by their token, by their session, and for the office."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from accounts.models import ContactLink
from accounts.selectors.customers import customers_for
from accounts.selectors.inspectors import digest_of

if TYPE_CHECKING:
    from accounts.models import Person


def link_of(token: str, now: datetime) -> ContactLink | None:
    """The link of a token while it lasts; None when it is over, taken back or was never made."""
    link = _links().filter(token_sha256=digest_of(token)).first()
    return link if link and link.lasts(now) else None


def link_of_session(pk: object, now: datetime) -> ContactLink | None:
    """The link of a session that it opened, while it lasts."""
    if type(pk) is not int:  # True is an int to isinstance
        return None
    link = _links().filter(pk=pk).first()
    return link if link and link.lasts(now) else None


def links_about(person: Person | None, property_ref: int) -> QuerySet[ContactLink]:
    """Links about a property to contacts of customers whom the person may see, newest first."""
    rows = _links().filter(contact__customer__in=customers_for(person))
    return rows.filter(property_ref=property_ref)


def contact_link_for(person: Person | None, pk: int) -> ContactLink:
    """One link to a contact of a customer whom the person may see; otherwise Http404."""
    rows = _links().filter(contact__customer__in=customers_for(person))
    return get_object_or_404(rows, pk=pk)


def _links() -> QuerySet[ContactLink]:
    return ContactLink.objects.select_related("contact__customer__branch", "created_by")
