"""Reading the contact log: of one customer, the last of many, and whom to call."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from django.db.models import OuterRef, Subquery

from accounts.models import ContactEntry
from accounts.rules.phones import readable
from accounts.selectors.customers import customers_for
from accounts.selectors.pages import page_of

if TYPE_CHECKING:
    from django.core.paginator import Page

    from accounts.models import Person

MOST_LINES = 20


@dataclass(frozen=True)
class CallRow:
    """Somebody to call: whom, at which number, since when, what was said last."""

    entry: ContactEntry
    phone: str
    number: str
    is_late: bool


def entries_of(customer_id: int) -> list[ContactEntry]:
    """The last contacts with a customer, the newest first."""
    rows = ContactEntry.objects.filter(customer=customer_id).select_related("created_by")
    return list(rows[:MOST_LINES])


def last_of(customer_ids: Collection[int]) -> dict[int, ContactEntry]:
    """The last contact with each of some customers, in one query."""
    rows = _last().filter(customer__in=customer_ids)
    return {one.customer_id: one for one in rows}


def _last() -> Any:
    newest = ContactEntry.objects.filter(customer=OuterRef("customer")).order_by(
        "-created_at", "-pk"
    )
    return ContactEntry.objects.filter(pk=Subquery(newest.values("pk")[:1]))


def call_list(person: Person, today: date, number: object) -> tuple[Sequence[CallRow], Page[Any]]:
    """Whom to call by today: customers whose last entry says so, the longest waiting first."""
    rows = _last().filter(call_again_on__lte=today, customer__in=customers_for(person))
    rows = rows.filter(customer__status="active").select_related("customer", "contact")
    rows = rows.prefetch_related("customer__contacts").order_by("call_again_on", "pk")
    page = page_of(rows, number)
    return [_row(one, today) for one in page.object_list], page


def _row(entry: ContactEntry, today: date) -> CallRow:
    own = entry.contact.phone if entry.contact else ""
    phone = own or next((one.phone for one in entry.customer.contacts.all() if one.phone), "")
    is_late = entry.call_again_on is not None and entry.call_again_on < today
    return CallRow(entry, phone, readable(phone) if phone else "", is_late)
