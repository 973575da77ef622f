"""What is typed about customers, before it is a row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class NewCustomer:
    """A customer of a branch; `kind` is residential or commercial."""

    branch_id: int
    name: str
    kind: str = "residential"
    billing_address: str = ""


@dataclass(frozen=True)
class NewContact:
    """A person at a customer's; `phone` as typed, `role` one of the contact roles."""

    customer_id: int
    name: str
    role: str = "owner"
    phone: str = ""
    email: str = ""
    wants_notices: bool = True
    texts_agreed_on: date | None = None
