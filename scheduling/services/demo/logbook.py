"""The logbook of one property of the invented firm: plan, sightings, answers, what to put right."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid5

from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from scheduling.services.demo.days import NEVER_TYPED_TWICE
from sites.rules.sightings import HowMany, NewSighting, Way
from sites.services.logbook import ask_action, note_review, note_step, write_plan
from sites.services.sightings import answer_sighting, tell_sighting
from sites.services.site_links import make_code

if TYPE_CHECKING:
    from scheduling.services.demo.firm import Firm
    from sites.models import Property, Sighting

TECHNICIAN = "technician@demo.example"
PLAN = (
    "Inspect first, treat only where pests or their signs are found.\n"
    "Monitors in kitchen, store room and along the dock, read on every service.\n"
    "Doors and drains are the customer's; gaps under an inch are sealed by us."
)
SEEN = (
    (160, "Ants in a line on the window sill", "Ground floor, office", HowMany.MANY),
    (70, "Mouse droppings", "Store room, behind the shelves", HowMany.SIGNS),
    (40, "A mouse", "Loading dock", HowMany.ONE),
    (1, "Small cockroaches under the dishwasher", "Kitchen", HowMany.FEW),
)


def keep_a_logbook(*, firm: Firm, today: date, now: datetime) -> tuple[str, ...]:
    """Fill the logbook of the technician's next stop; the last sighting waits for an answer."""
    visits = Visit.objects.filter(technician=firm.people[TECHNICIAN], day__gte=today)
    next_one = (
        visits.filter(state=VisitState.BOOKED)
        .order_by("day", "pk")
        .select_related("property__branch")[0]
    )
    place = next_one.property
    _plan_and_review(firm, place, today, now)
    make_code(property_id=place.pk, by=firm.office, now=now)
    for days, what, spot, many in SEEN:
        _seen(firm, place, now - timedelta(days=days), what, spot, many)
    _to_put_right(firm, place, today, now)
    return (f"{len(SEEN)} sightings told at {place}, {len(SEEN) - 1} of them answered.",)


def _plan_and_review(firm: Firm, place: Property, today: date, now: datetime) -> None:
    written = today - timedelta(days=300)
    kept: dict[str, Any] = {"property_id": place.pk, "by": firm.manager, "now": now}
    write_plan(text=PLAN, written_by="Firm and customer", written_on=written, **kept)
    note_review(
        reviewed_on=today - timedelta(days=60),
        reviewed_by="The manager and the owner",
        notes="Fewer sightings since the dock door closes. Keep the monitors.",
        next_due=today + timedelta(days=305),
        **kept,
    )


def _seen(firm: Firm, place: Property, at: datetime, what: str, spot: str, many: HowMany) -> None:
    new = NewSighting(
        what=what,
        spot=spot,
        seen_on=at.date(),
        how_many=many,
        once=uuid5(NEVER_TYPED_TWICE, f"sighting {what}"),
        name="The shift lead",
    )
    told = tell_sighting(place=place, new=new, way=Way.CODE, who="the code of the demo", now=at)
    if what != SEEN[-1][1]:
        _answered(firm, told.sighting, at + timedelta(hours=20))


def _answered(firm: Firm, sighting: Sighting, at: datetime) -> None:
    answer_sighting(
        sighting_id=sighting.pk,
        note="Looked at, monitors set, the gap at the pipe sealed.",
        done_in="none",
        done_in_words="No visit and no record",
        within_reach=(),
        by=firm.office,
        now=at,
    )


def _to_put_right(firm: Firm, place: Property, today: date, now: datetime) -> None:
    asked: dict[str, Any] = {"property_id": place.pk, "by": firm.office, "now": now}
    first = ask_action(
        what="Fit a sweep to the dock door",
        spot="Loading dock",
        side="customer",
        asked_on=today - timedelta(days=39),
        due_on=today - timedelta(days=20),
        **asked,
    )
    ask_action(
        what="Clean the floor drain every week",
        spot="Kitchen",
        side="customer",
        asked_on=today - timedelta(days=1),
        due_on=today + timedelta(days=13),
        **asked,
    )
    note_step(
        action_id=first.pk,
        note="Sweep fitted by the customer",
        done_on=today - timedelta(days=22),
        is_done=True,
        by=firm.office,
        now=now,
    )
