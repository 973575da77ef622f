"""Taking a property's turn: what depends on its history is read and written after this."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import connection

from sites.models import Property


def lock_property(property_id: int) -> Property | None:
    """Lock the row of one property until the transaction ends; None when there is none."""
    rows = Property.objects.select_related("branch", "customer")
    return rows.select_for_update(of=("self",), no_key=True).filter(pk=property_id).first()


def take_turn(property_id: int) -> None:
    """Lock the row of one property as `lock_property` does, without reading it.

    SQLite locks no row: there the transaction holds all of them from its beginning.
    """
    if connection.features.has_select_for_update:
        rows = Property.objects.select_for_update(no_key=True).filter(pk=property_id)
        rows.order_by().values_list("pk").first()


def lock_properties_of_zones(zone_ids: Iterable[int]) -> list[Property]:
    """Lock the properties of many zones, always in the order of their keys."""
    rows = Property.objects.filter(zones__in=list(zone_ids)).values("pk")
    locked = Property.objects.select_for_update(no_key=True).filter(pk__in=rows)
    return list(locked.order_by("pk"))
