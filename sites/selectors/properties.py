"""Reading properties and what belongs to them; nobody asking means the system itself."""

from __future__ import annotations

from collections.abc import Collection
from decimal import Decimal
from typing import TYPE_CHECKING

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from accounts.permissions import Permission, allows
from accounts.rules.search import MOST_ROWS, SearchRow, words_of
from accounts.selectors.people import branches_for
from sites.models import (
    Preference,
    Property,
    PropertyAccess,
    SiteCaution,
    TreatableZone,
    Unit,
    WallRun,
)
from sites.rules.measurements import ZoneMeasure
from sites.rules.places import CautionKind, Corners, Geometry

if TYPE_CHECKING:
    from accounts.models import Person

_HAS_RUNS = Exists(WallRun.objects.filter(zone=OuterRef("pk")))


def properties_for(person: Person | None) -> QuerySet[Property]:
    """Properties of the person's branches; none for who may not see customers."""
    places = Property.objects.all()
    if person is None:
        return places
    if not allows(person, Permission.SEE_CUSTOMERS):
        return places.none()
    return places.filter(branch__in=branches_for(person))


def property_for(person: Person | None, pk: int, *also: str) -> Property:
    """One property the person may see, with its customer and branch; otherwise Http404.

    `also` names further single rows to read in the same query.
    """
    places = properties_for(person).select_related("customer", "branch", *also)
    return get_object_or_404(places, pk=pk)


def property_named(pk: int) -> Property | None:
    """One property with its customer and branch; None when there is none."""
    return Property.objects.select_related("branch", "customer").filter(pk=pk).first()


def zones_of(property_id: int) -> QuerySet[TreatableZone]:
    """The zones of a property that are still treated, in order, and whether they have runs."""
    zones = TreatableZone.objects.filter(property_id=property_id, retired_on__isnull=True)
    return zones.order_by("pk").annotate(has_runs=_HAS_RUNS)


def zones_at(property_id: int) -> QuerySet[TreatableZone]:
    """The zones still treated, as `zones_by_ids` gives them."""
    return _with_place(zones_of(property_id))


def zones_by_ids(ids: Collection[int]) -> QuerySet[TreatableZone]:
    """The named zones, retired ones included, with their properties.

    Each is marked with whether it has runs, and bees are noted at its property.
    """
    return _with_place(TreatableZone.objects.filter(pk__in=ids).order_by("pk"))


def _with_place(zones: QuerySet[TreatableZone]) -> QuerySet[TreatableZone]:
    bees = SiteCaution.objects.filter(property=OuterRef("property"), kind=CautionKind.BEES)
    return zones.select_related("property").annotate(has_runs=_HAS_RUNS, has_bees=Exists(bees))


def zone_for(person: Person | None, pk: int) -> TreatableZone:
    """One zone of a property the person may see; otherwise Http404."""
    zones = TreatableZone.objects.filter(property__in=properties_for(person))
    return get_object_or_404(zones.select_related("property"), pk=pk)


def treated_zone_for(person: Person | None, pk: int) -> TreatableZone:
    """One zone as `zone_for` gives it that is still treated; a retired one is Http404 too."""
    zone = zone_for(person, pk)
    if zone.retired_on is not None:
        raise Http404("This zone is retired.")
    return zone


def zone_measure(zone: TreatableZone) -> ZoneMeasure:
    """The measured size of a zone as the rules take it."""
    run, up, out = zone.lengths()
    factor = Decimal(zone.corner_factor) if zone.corner_factor else None
    return ZoneMeasure(
        Geometry(zone.geometry), run, up, out, Corners(zone.corners), zone.length_unit, factor
    )


def cautions_of(property_id: int) -> QuerySet[SiteCaution]:
    """What to watch for at a property."""
    return SiteCaution.objects.filter(property_id=property_id).order_by("pk")


def has_bees(property_id: int) -> bool:
    """Whether bees or hives are noted at a property."""
    return cautions_of(property_id).filter(kind=CautionKind.BEES).exists()


def places_with_bees() -> list[int]:
    """The keys of the properties where bees or hives are noted."""
    rows = SiteCaution.objects.filter(kind=CautionKind.BEES)
    return list(rows.order_by().values_list("property", flat=True).distinct())


def caution_for(person: Person | None, pk: int) -> SiteCaution:
    """One caution of a property the person may see; otherwise Http404."""
    cautions = SiteCaution.objects.filter(property__in=properties_for(person))
    return get_object_or_404(cautions.select_related("property"), pk=pk)


def preferences_said() -> QuerySet[Preference]:
    """What was asked for at properties, with the unit; for a prefetch of a higher floor."""
    return Preference.objects.select_related("unit")


def preferences_of(property_id: int) -> QuerySet[Preference]:
    """What the customer asked for at a property and in its units."""
    wishes = Preference.objects.filter(property_id=property_id)
    return wishes.select_related("unit").order_by("pk")


def hard_preferences_of(property_id: int) -> QuerySet[Preference]:
    """What the customer insists on at a property and in its units."""
    return Preference.objects.filter(property=property_id, is_hard=True).order_by("pk")


def preference_for(person: Person | None, pk: int) -> Preference:
    """One preference of a property the person may see; otherwise Http404."""
    wishes = Preference.objects.filter(property__in=properties_for(person))
    return get_object_or_404(wishes.select_related("property"), pk=pk)


def access_of(property_id: int) -> PropertyAccess | None:
    """How one gets in; shown to the office, and to a technician on the day only."""
    return PropertyAccess.objects.filter(property_id=property_id).first()


def units_of(property_id: int) -> QuerySet[Unit]:
    """The units of a property with their occupants, by number."""
    units = Unit.objects.filter(property_id=property_id)
    return units.select_related("occupant").order_by("number", "pk")


def unit_for(person: Person | None, pk: int) -> Unit:
    """One unit of a property the person may see; otherwise Http404."""
    units = Unit.objects.filter(property__in=properties_for(person))
    return get_object_or_404(units.select_related("property"), pk=pk)


def matches(text: str, person: Person) -> list[SearchRow]:
    """Properties by street, municipality and ZIP code, by street; 20 at most, one query.

    Every word typed must be found in one of the three. Fewer than two letters find nothing.
    """
    words = words_of(text)
    if not words:
        return []
    wanted = Q()
    for word in words:
        wanted &= Q(street__icontains=word) | Q(city__icontains=word) | Q(zip_code__startswith=word)
    found = properties_for(person).filter(wanted).select_related("customer")[:MOST_ROWS]
    return [
        SearchRow(str(place), place.customer.name, place.get_absolute_url(), "Property")
        for place in found
    ]


def properties_named(branch_id: int, text: str) -> list[Property]:
    """Properties of a branch with every word of the text in street, municipality or ZIP code."""
    places = Property.objects.filter(branch_id=branch_id)
    for word in text.replace(",", " ").split():
        places = places.filter(
            Q(street__icontains=word)
            | Q(city__icontains=word)
            | Q(state__iexact=word)
            | Q(zip_code__startswith=word)
        )
    return list(places.order_by("street", "pk")[:MOST_ROWS])


def positions_of(branch_id: int) -> list[tuple[int, float | None, float | None]]:
    """Every property of a branch with its position, where there is one."""
    rows = Property.objects.filter(branch_id=branch_id).order_by("pk")
    return [
        (pk, *(None if one is None else float(one) for one in (latitude, longitude)))  # type: ignore[misc]
        for pk, latitude, longitude in rows.values_list("pk", "latitude", "longitude")
    ]


def keys_of_customer(branch_id: int, customer_id: int) -> list[int]:
    """The properties of a customer in a branch."""
    rows = Property.objects.filter(branch_id=branch_id, customer_id=customer_id)
    return list(rows.order_by("pk").values_list("pk", flat=True))


def caution_kinds(property_id: int) -> frozenset[str]:
    """The kinds of what is watched at a property, without its notes."""
    rows = SiteCaution.objects.filter(property=property_id)
    return frozenset(rows.values_list("kind", flat=True))
