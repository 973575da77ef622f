"""What the forms of this floor offer."""

from __future__ import annotations

from accounts.selectors.customers import contacts_of
from sites.selectors.properties import units_of


def contact_choices(customer_id: int) -> list[tuple[int, str]]:
    """Keys and names of a customer's contacts."""
    return [(one.pk, f"{one.name}, {one.get_role_display()}") for one in contacts_of(customer_id)]


def unit_choices(property_id: int) -> list[tuple[int, str]]:
    """Keys and numbers of a property's units."""
    return [(one.pk, str(one)) for one in units_of(property_id)]
