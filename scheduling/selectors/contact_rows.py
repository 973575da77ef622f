"""The people one talks to, with their telephone numbers as people read them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from accounts.rules.phones import readable
from accounts.selectors.customers import contacts_of

if TYPE_CHECKING:
    from accounts.models import Contact


@dataclass(frozen=True)
class ContactRow:
    """A contact and the number to read out."""

    contact: Contact
    phone: str


def contact_rows(customer_id: int) -> list[ContactRow]:
    """The contacts of a customer, in one query."""
    return [ContactRow(one, readable(one.phone)) for one in contacts_of(customer_id)]
