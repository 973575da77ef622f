"""One identification with what can be done about it where one is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from scheduling.selectors.reach import own_open_visit, reachable
from sites.selectors.identifications import IdentificationPage, identification_page
from treatments.selectors.labels import directions_in_force

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import LabelUse


@dataclass(frozen=True)
class IdentifiedPage:
    """The evidence, the stop one is at, and the mix against this pest there."""

    page: IdentificationPage
    stop_pk: int | None
    mix: str
    may_find: bool
    is_far: bool


def identified_page(person: Person, pk: int, today: date) -> IdentifiedPage:
    """One identification the person may see; otherwise Http404."""
    page = identification_page(person, pk)
    place = page.row.property_id
    visit = own_open_visit(person, place, today)
    near = reachable(person, today).filter(pk=place).exists()
    return IdentifiedPage(
        page=page,
        stop_pk=visit.pk if visit else None,
        mix=_mix(page, today) if visit else "",
        may_find=near and page.finding is None,
        is_far=not near,
    )


def _mix(page: IdentificationPage, today: date) -> str:
    """The address of a mix with this pest chosen, at the first direction that names it."""
    if page.pest is None or not page.is_treated:
        return ""
    zone, pest = page.row.zone, page.pest.pk
    fitting = [one for one in directions_in_force(today) if _names(one, pest)]
    placed = [one for one in fitting if zone is None or zone.place in one.places]
    if not placed:
        return ""
    chosen: list[tuple[str, int]] = [("zone", zone.pk)] if zone else []
    return urlencode([*chosen, ("use", placed[0].pk), ("pest", pest)])


def _names(use: LabelUse, pest_id: int) -> bool:
    return any(one.pk == pest_id for one in use.pests.all())
