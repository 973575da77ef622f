"""What somebody must still look at."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.apps import apps
from django.core.paginator import Page
from django.db.models import Count, QuerySet
from django.shortcuts import get_object_or_404

from accounts.models import OpenItem
from accounts.selectors.pages import page_of
from accounts.selectors.people import branches_for

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class ItemRow:
    """One matter, its kind in words, and the address of the thing it is about, if it has one."""

    item: OpenItem
    kind: str
    url: str


def open_items(person: Person, codes: Collection[str]) -> list[OpenItem]:
    """The open items with one of the codes, of the person's branches, newest first."""
    rows = _items_for(person).filter(code__in=codes, closed_at=None)
    return list(rows.order_by("-created_at", "-pk"))


def item_rows(person: Person, codes: Mapping[str, str]) -> tuple[ItemRow, ...]:
    """The open items with one of the codes in the words given for it, with their addresses."""
    items = open_items(person, codes)
    urls = _urls(item.thing for item in items)
    return tuple(ItemRow(item, codes[item.code], urls.get(item.thing, "")) for item in items)


def item_for(person: Person, pk: int) -> OpenItem:
    """One item of the person's branches; otherwise Http404."""
    return get_object_or_404(_items_for(person), pk=pk)


def kinds_of(person: Person) -> list[tuple[str, str]]:
    """Every kind of item there is, with how many are open."""
    counted = _items_for(person).filter(closed_at=None).values_list("code")
    return [
        (code, f"{kind_words(code)} ({number})")
        for code, number in counted.annotate(Count("pk")).order_by("code")
    ]


def items_page(
    person: Person, *, is_closed: bool, code: str, number: object
) -> tuple[Sequence[ItemRow], Page[Any]]:
    """One page of 50 items: open ones the oldest first, closed ones the last closed first."""
    items = _items_for(person).filter(closed_at__isnull=not is_closed)
    items = items.filter(code=code) if code else items
    order = ("-closed_at", "-pk") if is_closed else ("created_at", "pk")
    page = page_of(items.order_by(*order), number)
    urls = _urls(item.thing for item in page.object_list)
    rows = [
        ItemRow(item, kind_words(item.code), urls.get(item.thing, "")) for item in page.object_list
    ]
    return rows, page


def kind_words(code: str) -> str:
    """`stock_below_zero` is Stock below zero."""
    return code.replace("_", " ").capitalize()


def _items_for(person: Person) -> QuerySet[OpenItem]:
    return OpenItem.objects.filter(branch__in=branches_for(person)).select_related("branch")


def _urls(things: Iterable[str]) -> dict[str, str]:
    """Addresses of things named by table and key (and a branch), one query a table."""
    keys: dict[str, list[int]] = defaultdict(list)
    named = {thing: thing.partition(" ")[0].partition(":") for thing in things}
    for label, _, key in named.values():
        if key.isdecimal() and _has_a_page(label):
            keys[label].append(int(key))
    found: dict[str, str] = {}
    for label, wanted in keys.items():
        rows = apps.get_model(label)._default_manager.in_bulk(wanted)
        found |= {f"{label}:{key}": row.get_absolute_url() for key, row in rows.items()}
    return {thing: found.get("".join(name), "") for thing, name in named.items()}


def _has_a_page(label: str) -> bool:
    known = {model._meta.label_lower: model for model in apps.get_models()}
    return hasattr(known.get(label), "get_absolute_url")
