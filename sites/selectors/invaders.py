"""Where autumn invaders were found or identified before."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db.models import Count, Q

from sites.models import Finding, Identification, Property
from sites.rules.identification.words import TaxonKind
from sites.rules.places import INSIDE, Exposure, PestGroup


def invaders_seen(branch_ids: Collection[int]) -> dict[int, tuple[str, datetime]]:
    """The last invader found or identified at each property of these branches; two queries."""
    found = Finding.objects.filter(pest__group=PestGroup.OVERWINTERING)
    found = found.filter(inspection__property__branch__in=branch_ids).exclude(pest=None)
    rows = found.values_list("inspection__property", "pest__common_name", "inspection__begun_at")
    named = Identification.objects.filter(taxon__kind=TaxonKind.INVADER)
    named = named.filter(property__branch__in=branch_ids)
    seen = [*rows, *named.values_list("property", "name", "at")]
    last: dict[int, tuple[str, datetime]] = {}
    for place_id, name, at in sorted(seen, key=lambda row: row[2]):
        last[place_id] = (name, at)
    return last


def places_with_sun(ids: Collection[int]) -> dict[int, Property]:
    """These properties of active customers; `sunny` is how many outside zones are in full sun."""
    outside_in_sun = Q(zones__exposure=Exposure.SUN, zones__retired_on=None)
    sunny = Count("zones", filter=outside_in_sun & ~Q(zones__place__in=INSIDE), distinct=True)
    rows = Property.objects.filter(pk__in=ids, customer__status="active")
    rows = rows.select_related("customer", "branch").annotate(sunny=sunny)
    return {one.pk: one for one in rows}
