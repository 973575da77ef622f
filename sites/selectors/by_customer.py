"""Properties as a page about customers asks for them: many customers at once, and by town."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from django.db.models import QuerySet

from sites.models import Property


def properties_by_customer(customer_ids: Collection[int]) -> dict[int, list[Property]]:
    """The properties of each of the customers, by street, in one query."""
    found: dict[int, list[Property]] = defaultdict(list)
    for place in Property.objects.filter(customer_id__in=customer_ids).order_by("street", "pk"):
        found[place.customer_id].append(place)
    return found


def customers_in_town(town: str) -> QuerySet[Property, int]:
    """Keys of the customers with a property in the town, for a filter's `pk__in`."""
    return Property.objects.filter(city__iexact=town).values_list("customer_id", flat=True)


def towns(branch_ids: Collection[int]) -> list[str]:
    """Every town in which a branch has a property, by name."""
    rows = Property.objects.filter(branch_id__in=branch_ids).order_by("city")
    return list(rows.values_list("city", flat=True).distinct())
