"""What a plan is: routes with times, and every stop left out with its reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from scheduling.rules.routing.problem import PlanningProblem


class Reason(StrEnum):
    """Why a stop has no place."""

    NO_TECHNICIAN = "no_technician"
    TECHNICIAN_AWAY = "technician_away"
    NO_SKILL = "no_skill"
    TOO_FAR = "too_far"
    WINDOW_CLOSED = "window_closed"
    LUNCH = "lunch"
    SHIFT_FULL = "shift_full"


REASON_SENTENCES: Mapping[Reason, str] = {
    Reason.NO_TECHNICIAN: "Nobody works on this day. Choose another day.",
    Reason.TECHNICIAN_AWAY: (
        "The technician promised to this customer does not work on this day. "
        "Choose another day or another technician."
    ),
    Reason.NO_SKILL: (
        "No technician of this day holds what the visit needs. "
        "Choose another technician or another day."
    ),
    Reason.TOO_FAR: "The drive and the work together do not fit into a shift.",
    Reason.WINDOW_CLOSED: (
        "Nobody can begin within the arrival window, even with nothing else to do. "
        "Choose another window."
    ),
    Reason.LUNCH: "The visit would leave no room for lunch. Choose another window.",
    Reason.SHIFT_FULL: (
        "No place is left between the other visits of the day. "
        "Choose another window, another day or another technician."
    ),
}


@dataclass(frozen=True)
class PlannedStop:
    """One stop of a route: drive to it, arrival, begin and end of the service."""

    stop_id: str
    travel_s: int
    arrive_s: int
    start_s: int
    end_s: int


@dataclass(frozen=True)
class PlannedRoute:
    """One technician's stops in order; `travel_s` counts every drive, also home."""

    technician: str
    stops: tuple[PlannedStop, ...]
    lunch_start_s: int | None
    return_s: int
    travel_s: int

    @property
    def stop_ids(self) -> tuple[str, ...]:
        return tuple(stop.stop_id for stop in self.stops)


@dataclass(frozen=True)
class Unassigned:
    """A stop without a place, and why."""

    stop_id: str
    reason: Reason

    @property
    def sentence(self) -> str:
        return REASON_SENTENCES[self.reason]


@dataclass(frozen=True)
class Plan:
    """Routes that have stops, what was left out; `complete` is False when time ran out."""

    routes: tuple[PlannedRoute, ...] = ()
    unassigned: tuple[Unassigned, ...] = ()
    complete: bool = True

    @property
    def travel_s(self) -> int:
        return sum(route.travel_s for route in self.routes)

    def route_of(self, technician: str) -> PlannedRoute | None:
        return next((route for route in self.routes if route.technician == technician), None)


def cost_s(problem: PlanningProblem, plan: Plan) -> int:
    """Driving plus the penalties of what was left out, in seconds; lower is better."""
    left_out = (problem.stop_by_id[gone.stop_id].penalty_s for gone in plan.unassigned)
    return plan.travel_s + sum(left_out)
