"""What a customer is asked to prepare for a visit, and what was said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduling.models import PrepList, PrepMark, RenewalZone, VisitAnswer
from scheduling.rules.prep import (
    HOUSE_ITEMS,
    Planned,
    PrepItem,
    Treatment,
    items_of,
    key_of,
    lines_of,
    treatments_of,
)
from scheduling.rules.visit_states import VisitKind
from sites.selectors.properties import caution_kinds

if TYPE_CHECKING:
    from scheduling.models import Visit

INSPECTING = (VisitKind.INSPECTION, VisitKind.MONITORING, VisitKind.EXCLUSION)


@dataclass(frozen=True)
class ListRow:
    """The items of one treatment and whether they are the firm's own."""

    treatment: Treatment
    words: str
    items: tuple[str, ...]
    is_own: bool


def planned_treatments(visit: Visit) -> tuple[Treatment, ...]:
    """What is planned at a visit: its renewal's zones, each by how it was treated last."""
    zones = RenewalZone.objects.filter(renewal=visit.renewal_id or 0)
    rows = zones.values_list("zone__place", "window__treated_area__record__method")
    planned = [Planned(place, method or "") for place, method in rows]
    return treatments_of(planned, is_inspection=visit.kind in INSPECTING)


def prep_items(visit: Visit) -> tuple[PrepItem, ...]:
    """The items of a visit in order, with what was said of each; four queries."""
    own, more = _lists(visit.property_id)
    found = items_of(planned_treatments(visit), own, more, caution_kinds(visit.property_id))
    marks = {one.key: one.is_done for one in PrepMark.objects.filter(visit=visit)}
    return tuple(PrepItem(words, marks.get(key_of(words))) for words in found)


def _lists(property_id: int) -> tuple[dict[str, tuple[str, ...]], tuple[str, ...]]:
    rows = list(PrepList.objects.exclude(treatment=""))
    place = PrepList.objects.filter(property=property_id).first()
    own = {one.treatment: lines_of(one.lines) for one in rows}
    return own, lines_of(place.lines) if place else ()


def own_items(property_id: int) -> str:
    """The items of one property, one a line."""
    found = PrepList.objects.filter(property=property_id).first()
    return found.lines if found else ""


def prep_lists() -> tuple[ListRow, ...]:
    """The items of every treatment, in one query."""
    own = {one.treatment: lines_of(one.lines) for one in PrepList.objects.exclude(treatment="")}
    words = dict(PrepList._meta.get_field("treatment").choices or ())
    return tuple(
        ListRow(one, str(words[one]), own.get(one, HOUSE_ITEMS[one]), one in own)
        for one in Treatment
    )


def answer_to(visit: Visit) -> VisitAnswer | None:
    """What the customer answered last to the hours that are promised now."""
    rows = VisitAnswer.objects.filter(visit=visit, window_opens_at=visit.window_opens_at)
    return rows.first()
