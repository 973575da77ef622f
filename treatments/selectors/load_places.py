"""How much of a spray other places could take: asked for the rest of a load."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from sites.rules.places import PestGroup, Place, Surface
from sites.rules.units import Amount
from sites.selectors.properties import zone_measure
from treatments.models import LabelUse
from treatments.rules.label_checks import ProposedUse, ZoneUse
from treatments.rules.loads import zones_allowed
from treatments.rules.products import Method
from treatments.selectors.label_facts import label_facts

if TYPE_CHECKING:
    from sites.models import TreatableZone


def gallons_taken(
    use: LabelUse,
    zones: Iterable[TreatableZone],
    *,
    method: str,
    pest_ids: Collection[int],
    state: str,
    on: date,
    measured: Decimal | None = None,
) -> Decimal:
    """Gallons of finished spray on the zones that the direction names, by method and pest too.

    `measured` gallons per 1,000 sq ft of the equipment go before the label's. Zero where it allows
    none, or nothing says how many gallons go on an area. Without a query: give
    the direction as `directions_in_force` does. The history of the zones is asked at the stop.
    """
    pests = [pest for pest in use.pests.all() if pest.pk in set(pest_ids)]
    proposed = ProposedUse(
        on=on,
        state=state,
        zones=tuple(_zone_use(zone) for zone in zones),
        method=Method(method),
        pests={pest.common_name: PestGroup(pest.group) for pest in pests},
        product=Amount(Decimal(0), use.rate_unit),
    )
    allowed = zones_allowed(label_facts(use), proposed)
    area = sum((zone.area.value for zone in allowed), Decimal(0))
    return area / 1000 * (measured or use.gallons_per_1000 or Decimal(0))


def _zone_use(zone: TreatableZone) -> ZoneUse:
    area = zone_measure(zone).area.to("ft2")
    return ZoneUse(zone.name, Place(zone.place), Surface(zone.surface), area)
