"""Finding a free place for one visit in a technician's planned day, moving nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from scheduling.models import Visit
from scheduling.rules.local_clock import instant, moment_at
from scheduling.rules.routing.insert import Insertion, cheapest, with_route
from scheduling.rules.routing.plan import Plan, Reason, Unassigned
from scheduling.rules.routing.problem import PlanningProblem
from scheduling.rules.routing.timing import schedule
from scheduling.selectors.day_problem import day_problem, fixed_stop, open_stop
from scheduling.selectors.days import WorkDay, work_days

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import Property

NEW = "new"
SEARCH_DAYS = 28
MOST_CHOICES = 3
DAY_BROKEN = (
    "The visits planned on this day do not fit its shift, lunch and drives any more. "
    "Plan the day again first, or choose another day."
)
SENTENCES = {
    Reason.SHIFT_FULL: "No place is left between the visits planned on this day.",
    Reason.LUNCH: "The visit would leave no room for lunch.",
    Reason.WINDOW_CLOSED: "The work cannot begin within this arrival window.",
    Reason.TOO_FAR: "The drive and the work together do not fit into the shift.",
}


@dataclass(frozen=True)
class Wanted:
    """What is asked for: where, when (wall clock of the shop), for how many minutes."""

    place: Property
    day: date
    opens: time
    closes: time
    minutes: int

    @property
    def opens_at(self) -> datetime:
        return instant(self.day, self.opens, self.place.branch.time_zone)

    @property
    def closes_at(self) -> datetime:
        return instant(self.day, self.closes, self.place.branch.time_zone)


@dataclass(frozen=True)
class FreePlace:
    """A place that is free: the day, the promised window, and when the work would begin."""

    day: date
    opens: time
    closes: time
    starts: datetime


def find_place(work: WorkDay, wanted: Wanted, now: datetime) -> datetime | str:
    """When the work would begin, or the sentence that says why there is no place.

    Cheapest insertion by added driving; every visit that has a planned time keeps it.
    """
    problem = _problem(work, wanted, now)
    standing = _standing(problem, work)
    if standing is None:
        return DAY_BROKEN
    found = cheapest(problem, standing, NEW)
    if isinstance(found, Unassigned):
        return SENTENCES.get(found.reason, found.sentence)
    return _begin(found, wanted)


def _begin(found: Insertion, wanted: Wanted) -> datetime:
    return moment_at(found.start_s, wanted.day, wanted.place.branch.time_zone)


def _problem(work: WorkDay, wanted: Wanted, now: datetime) -> PlanningProblem:
    zone = wanted.place.branch.time_zone
    stops = [(fixed_stop(v, at, zone), v.property) for at, v in enumerate(work.planned, start=1)]
    asked = Visit(
        technician=work.technician,
        day=wanted.day,
        window_opens_at=wanted.opens_at,
        window_closes_at=wanted.closes_at,
        minutes=wanted.minutes,
    )
    stop = replace(open_stop(asked, len(stops) + 1, zone, now), id=NEW)
    return day_problem(wanted.place.branch, [work], [*stops, (stop, wanted.place)])


def _standing(problem: PlanningProblem, work: WorkDay) -> Plan | None:
    """The day as it is planned, in its order; None when it breaks its own rules."""
    order = [str(visit.pk) for visit in work.planned]
    if not order:
        return Plan()
    route = schedule(problem, problem.days[0], order)
    return None if route is None else with_route(problem, Plan(), route)


def next_places(
    technician: Person, wanted: Wanted, now: datetime, may_work: Callable[[date], bool]
) -> tuple[FreePlace, ...]:
    """The next three days, after the one asked for, with a place in the same hours.

    `may_work` says whether the technician's license holds on a day.
    """
    days = [wanted.day + timedelta(days=n) for n in range(1, SEARCH_DAYS + 1)]
    found: list[FreePlace] = []
    for work in work_days([technician], days).values():
        if len(found) == MOST_CHOICES:
            break
        if not work.is_working or not may_work(work.day):
            continue
        starts = find_place(work, replace(wanted, day=work.day), now)
        if isinstance(starts, datetime):
            found.append(FreePlace(work.day, wanted.opens, wanted.closes, starts))
    return tuple(found)
