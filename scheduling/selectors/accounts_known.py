"""Reading what an import compares with: whole branches at once, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from accounts.selectors.customers import customers_for
from accounts.selectors.people import branches_for
from scheduling.rules.accounts_known import (
    Known,
    KnownBranch,
    KnownContact,
    KnownCustomer,
    KnownHistory,
    KnownProperty,
    KnownZone,
)
from sites.selectors.properties import properties_for
from treatments.selectors.windows import historic_of

if TYPE_CHECKING:
    from accounts.models import Person

CUSTOMER = ("pk", "branch_id", "name", "kind", "billing_address", "status")
CONTACT = ("pk", "customer_id", "name", "role", "phone", "email", "wants_notices")
PROPERTY = (
    "pk",
    "branch_id",
    "customer_id",
    "address_key",
    "street",
    "city",
    "county",
    "state",
    "zip_code",
    "latitude",
    "longitude",
    "structure",
)
ZONE = (
    "pk",
    "property_id",
    "name",
    "place",
    "geometry",
    "corners",
    "wall_run_mm",
    "height_up_mm",
    "width_out_mm",
    "surface",
    "exposure",
    "is_rain_protected",
    "is_over_impervious",
)


def known_branches(person: Person | None) -> list[KnownBranch]:
    """The branches the person may import into, by name."""
    rows = branches_for(person).order_by("name").values_list("pk", "name", "state")
    return [KnownBranch(*row) for row in rows]


def known_accounts(branch_ids: Collection[int]) -> Known:
    """Customers with contacts, properties with zones and last treatments of these branches."""
    customers = customers_for(None).filter(branch__in=branch_ids).order_by("pk")
    people = customers.filter(contacts__isnull=False).order_by("contacts__pk")
    places = properties_for(None).filter(branch__in=branch_ids).order_by("pk")
    zones = places.filter(zones__isnull=False).order_by("zones__pk")
    found = [KnownZone(*row) for row in zones.values_list(*(f"zones__{name}" for name in ZONE))]
    return Known(
        customers=[KnownCustomer(*row) for row in customers.values_list(*CUSTOMER)],
        contacts=[
            KnownContact(*row) for row in people.values_list(*(f"contacts__{n}" for n in CONTACT))
        ],
        properties=[KnownProperty(*row) for row in places.values_list(*PROPERTY)],
        zones=found,
        history=[
            KnownHistory(
                zone_id,
                applied_on,
                row.product_as_written,
                row.applicator_as_written,
                row.residual_days,
            )
            for (zone_id, applied_on), row in historic_of(zone.pk for zone in found).items()
        ],
    )
