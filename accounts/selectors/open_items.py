"""What somebody must still look at."""

from __future__ import annotations

from collections.abc import Collection

from accounts.models import OpenItem, Person
from accounts.selectors.people import branches_for


def open_items(person: Person, codes: Collection[str]) -> list[OpenItem]:
    """The open items with one of the codes, of the person's branches, newest first."""
    rows = OpenItem.objects.filter(code__in=codes, closed_at=None, branch__in=branches_for(person))
    return list(rows.order_by("-created_at", "-pk"))
