"""The letters about visits: to whom, with what words, on which paper, and what is known of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from accounts.rules.day_words import short_day
from accounts.rules.notices import KIND_WORDS, Kind
from accounts.rules.phones import readable
from scheduling.models import Renewal, Visit
from scheduling.models.renewals import WAITING_STATES
from scheduling.rules.day_words import full_day, hours, local, week_day
from scheduling.rules.letters import Letter
from scheduling.rules.prep import TREATMENT_WORDS
from scheduling.rules.visit_states import VisitState
from scheduling.selectors.preparing import planned_treatments, prep_items
from sites.selectors.exclusion import customer_tasks_of

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from accounts.models import Branch
    from scheduling.rules.prep import PrepItem
    from sites.models import ExclusionTask, Property

OF_VISITS = (Kind.APPOINTMENT, Kind.REMINDER)
PLAIN = "service"
OPENINGS = {
    Kind.APPOINTMENT: "this is your appointment with us.",
    Kind.REMINDER: "this is to remind you of your appointment with us.",
    Kind.OFFER: "your next service is coming up. The day below is our planning estimate, not a "
    "guarantee. If you see pests sooner, call us.",
    Kind.TASKS: "our work lasts best together with what we asked you to do.",
}


@dataclass(frozen=True)
class Told:
    """One letter's facts, read once: its paper and what fills its template."""

    place: Property
    facts: tuple[tuple[str, str], ...]
    items: tuple[PrepItem, ...]
    tasks: tuple[str, ...]
    values: dict[str, str]


def told_of_visit(visit: Visit) -> Told:
    """What a letter says of a visit; its property with customer and branch is fetched."""
    place, zone = visit.property, visit.property.branch.time_zone
    arrival = hours(local(visit.window_opens_at, zone), local(visit.window_closes_at, zone))
    when = f"{week_day(visit.day)}, {arrival}"
    planned = ", ".join(TREATMENT_WORDS[one].lower() for one in planned_treatments(visit))
    items, name = prep_items(visit), visit.technician.full_name
    values = {
        **_whose(place),
        "when": when,
        "technician": name,
        "planned": planned or PLAIN,
        "prepare": " ".join(one.words for one in items) or "nothing special.",
    }
    facts = (
        ("Day", week_day(visit.day)),
        ("We arrive", f"between {arrival.replace(' to ', ' and ')}"),
        ("Who comes", name),
        ("Planned", planned or PLAIN),
        ("Where", f"{place.street}, {place.city}"),
    )
    return Told(place, facts, items, _tasks(customer_tasks_of(place.pk)), values)


def told_of_renewal(renewal: Renewal) -> Told:
    """What a letter says of a service that is coming up."""
    place, due = renewal.property, full_day(renewal.due_on)
    facts = (("Next service", f"best done by {due}"), ("Where", f"{place.street}, {place.city}"))
    return Told(place, facts, (), (), {**_whose(place), "due": due})


def told_of_tasks(place: Property, tasks: Iterable[ExclusionTask]) -> Told:
    """What a letter says of tasks that are the customer's."""
    said = _tasks(tasks)
    where = (("Where", f"{place.street}, {place.city}"),)
    return Told(place, where, (), said, {**_whose(place), "tasks": "; ".join(said)})


def letter_of(told: Told, kind: Kind, to_name: str, now: datetime, *, demo: bool) -> Letter:
    """The paper of a letter to one person."""
    branch = told.place.branch
    return Letter(
        title=KIND_WORDS[kind] if kind != Kind.TASKS else "What is still to do",
        firm=branch.name,
        phone=_phone(branch.phone),
        after_hours=_phone(branch.after_hours_phone),
        to_name=to_name,
        address=told.place.address,
        opening=f"Hello {to_name},\n{OPENINGS[kind]}",
        facts=told.facts,
        items=told.items,
        tasks=told.tasks,
        as_of=local(now, branch.time_zone),
        demo=demo,
    )


def _whose(place: Property) -> dict[str, str]:
    branch: Branch = place.branch
    return {
        "customer": place.customer.name,
        "property": f"{place.street}, {place.city}",
        "firm": branch.name,
        "firm_phone": _phone(branch.phone),
        "after_hours": _phone(branch.after_hours_phone),
    }


def _phone(stored: str) -> str:
    return readable(stored) if stored else ""


def _tasks(tasks: Iterable[ExclusionTask]) -> tuple[str, ...]:
    return tuple(f"{one}, by {short_day(one.due_on, True)}" for one in tasks)


def coming_visits(today: date) -> QuerySet[Visit]:
    """Booked visits from a day on, of customers we still work for, with whom a letter names."""
    rows = Visit.objects.filter(
        state=VisitState.BOOKED, day__gte=today, property__customer__status="active"
    )
    return rows.select_related("property__customer", "property__branch", "technician", "renewal")


def offered_renewal(pk: int) -> Renewal | None:
    """A waiting renewal with whom an offer names, whoever asks; None for any other."""
    rows = Renewal.objects.select_related("property__customer", "property__branch")
    return rows.filter(pk=pk, state__in=WAITING_STATES).first()
