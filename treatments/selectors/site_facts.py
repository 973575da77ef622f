"""What is entered about a property that a label may ask for: units, schools, whole surfaces."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from accounts.selectors.customers import has_school_coordinator
from sites.rules.units import Amount
from sites.selectors.properties import units_of, zone_measure
from treatments.models import LabelUse
from treatments.rules.products import LimitFact
from treatments.selectors.past_uses import PastUse
from treatments.selectors.whole import Part

if TYPE_CHECKING:
    from sites.models import Property

OF_SCHOOLS = frozenset({LimitFact.SCHOOL, LimitFact.SCHOOL_HOURS})


@dataclass(frozen=True)
class SiteFacts:
    """Whether each unit is occupied, whether the customer has a school's coordinator, what kind of
    site the property is (empty where not entered)."""

    units_occupied: tuple[bool, ...] = ()
    is_school: bool = False
    site_kind: str = ""


def site_facts(place: Property, uses: Collection[LabelUse]) -> SiteFacts:
    """What labels of these directions ask about a property; no query where none asks."""
    facts = {row.fact for use in uses for row in use.label_version.limits.all()}
    units: tuple[bool, ...] = ()
    if LimitFact.VACANT_ONLY in facts:
        units = tuple(units_of(place.pk).values_list("is_occupied", flat=True))
    asks = bool(OF_SCHOOLS & facts) and not place.site_kind
    is_likely = asks and has_school_coordinator(place.customer_id)
    return SiteFacts(units, is_likely, place.site_kind)


def surface_of(part: Part, visit: Iterable[PastUse]) -> dict[str, Any]:
    """All of a zone's surface, and what of it the visit treated before."""
    before = sum(one.zone_mm2 for one in visit if one.zone_id == part.zone.pk)
    return {
        "whole": zone_measure(part.zone).area,
        "treated_before": Amount(Decimal(before), "mm2"),
    }
