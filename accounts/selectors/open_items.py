"""What somebody must still look at."""

from __future__ import annotations

from collections.abc import Collection

from django.http import Http404

from accounts.models import OpenItem, Person
from accounts.selectors.people import branches_for


def open_items(person: Person, codes: Collection[str]) -> list[OpenItem]:
    """The open items with one of the codes, of the person's branches, newest first."""
    rows = OpenItem.objects.filter(code__in=codes, closed_at=None, branch__in=branches_for(person))
    return list(rows.order_by("-created_at", "-pk"))


def open_item_for(person: Person, pk: int, codes: Collection[str]) -> OpenItem:
    """One open item with one of the codes, of the person's branches; otherwise Http404."""
    found = next((one for one in open_items(person, codes) if one.pk == pk), None)
    if found is None:
        raise Http404("No such open item.")
    return found
