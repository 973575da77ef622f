"""What the page of work without a product offers at a stop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from scheduling.models.visits import OPEN_STATES
from scheduling.selectors.today import own_visit
from sites.selectors.pests import pests
from sites.selectors.properties import zones_of

if TYPE_CHECKING:
    from accounts.models import Person

Rows = list[tuple[str, str]]


@dataclass(frozen=True)
class OtherWorkPage:
    """The stop, its zones and the pests to tick."""

    visit_pk: int
    visit_ref: str
    property_id: int
    customer: str
    is_open: bool
    started_at: datetime | None
    zones: Rows
    pests: Rows

    @property
    def offered(self) -> dict[str, Rows]:
        return {"zones": self.zones, "pests": self.pests}


def other_work_page(person: Person, pk: int) -> OtherWorkPage:
    """A stop of the person's own, else Http404."""
    visit = own_visit(person, pk)
    return OtherWorkPage(
        visit_pk=visit.pk,
        visit_ref=str(visit.ref),
        property_id=visit.property_id,
        customer=visit.property.customer.name,
        is_open=visit.state in OPEN_STATES,
        started_at=visit.started_at,
        zones=[(str(zone.pk), zone.name) for zone in zones_of(visit.property_id)],
        pests=[(str(pest.pk), pest.common_name) for pest in pests()],
    )
