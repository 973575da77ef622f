"""Where a person lands after signing in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from accounts.permissions import Permission, allows

if TYPE_CHECKING:
    from accounts.models import Person


def landing_page(person: Person) -> str:
    """Name the first page of a person: renewals for who may see them, else the day's stops."""
    return "renewals" if allows(person, Permission.SEE_RENEWALS) else "today"
