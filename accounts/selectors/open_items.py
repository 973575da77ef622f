"""What somebody must still look at."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django.apps import apps
from django.core.paginator import Page
from django.db.models import Count, Min, QuerySet
from django.shortcuts import get_object_or_404

from accounts.models import OpenItem
from accounts.rules.item_kinds import ItemKind, undeclared
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
    acts: str = ""


@dataclass(frozen=True)
class KindRow:
    """One kind of open items: how many there are and since when the oldest is open."""

    code: str
    kind: ItemKind
    number: int
    since: datetime

    def days(self, now: datetime) -> int:
        """Whole days since the oldest was opened."""
        return max((now - self.since).days, 0)


def open_items(person: Person, codes: Collection[str]) -> list[OpenItem]:
    """The open items with one of the codes, of the person's branches, newest first."""
    rows = _items_for(person).filter(code__in=codes, closed_at=None)
    return list(rows.order_by("-created_at", "-pk"))


def how_many(person: Person, code: str) -> int:
    """How many items with a code are open at the person's branches."""
    return _items_for(person).filter(code=code, closed_at=None).count()


def things_open(codes: Collection[str]) -> set[str]:
    """What open items with one of the codes are about, of every branch."""
    rows = OpenItem.objects.filter(code__in=codes, closed_at=None)
    return set(rows.values_list("thing", flat=True))


def was_asked(code: str, thing: str, but: Collection[str]) -> bool:
    """Whether a matter is open or was closed with any note but these."""
    return OpenItem.objects.filter(code=code, thing=thing).exclude(closed_note__in=but).exists()


def item_rows(person: Person, codes: Mapping[str, str]) -> tuple[ItemRow, ...]:
    """The open items with one of the codes in the words given for it, with their addresses."""
    items = open_items(person, codes)
    urls = _urls(item.thing for item in items)
    return tuple(ItemRow(item, codes[item.code], urls.get(item.thing, "")) for item in items)


def open_about(things: Collection[str]) -> list[OpenItem]:
    """The open items about things by their names (table and key), the oldest first."""
    rows = OpenItem.objects.filter(thing__in=things, closed_at=None)
    return list(rows.order_by("created_at", "pk"))


def item_for(person: Person, pk: int) -> OpenItem:
    """One item of the person's branches; otherwise Http404."""
    return get_object_or_404(_items_for(person), pk=pk)


def kinds_of(person: Person) -> tuple[KindRow, ...]:
    """Every kind of item that is open: how many, since when, who must act; the oldest first."""
    counted = _items_for(person).filter(closed_at=None).values_list("code")
    rows = counted.annotate(number=Count("pk"), since=Min("created_at")).order_by("since", "code")
    return tuple(KindRow(code, kind_of(code), number, since) for code, number, since in rows)


def codes_for(person: Person, acts: str) -> list[str] | None:
    """The codes of items, open or closed, that somebody of this kind must act on; None: all."""
    if not acts:
        return None
    every = _items_for(person).order_by().values_list("code", flat=True).distinct()
    return [code for code in every if kind_of(code).acts == acts]


def items_page(
    person: Person, *, is_closed: bool, code: str, number: object, acts: str = ""
) -> tuple[Sequence[ItemRow], Page[Any]]:
    """One page of 50 items: open ones the oldest first, closed ones the last closed first.

    `code` narrows to one kind, `acts` to what technician, office or manager must act on.
    """
    items = _items_for(person).filter(closed_at__isnull=not is_closed)
    codes = codes_for(person, acts)
    items = items if codes is None else items.filter(code__in=codes)
    items = items.filter(code=code) if code else items
    order = ("-closed_at", "-pk") if is_closed else ("created_at", "pk")
    page = page_of(items.order_by(*order), number)
    urls = _urls(item.thing for item in page.object_list)
    rows = [
        ItemRow(item, kind_words(item.code), urls.get(item.thing, ""), kind_of(item.code).acts_word)
        for item in page.object_list
    ]
    return rows, page


def kind_words(code: str) -> str:
    """The kind of an item in words."""
    return kind_of(code).words


def kind_of(code: str) -> ItemKind:
    """The kind as the floor that opens it declares it, else the words of its code."""
    for app in apps.get_app_configs():
        declared = getattr(app, "item_kinds", {})
        if code in declared:
            kind: ItemKind = declared[code]
            return kind
    return undeclared(code)


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
