"""What must be planned on one day, checked when it is made and never changed after.

All times are whole seconds since local midnight of the day; all durations whole seconds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

LONGEST_S = 7 * 24 * 3600  # nothing in a day's plan is longer; catches wrong units
Matrix = tuple[tuple[int, ...], ...]


def _require(holds: bool, sentence: str) -> None:
    if not holds:
        raise ValueError(sentence)


def _is_time(value: object) -> bool:
    return type(value) is int and 0 <= value <= LONGEST_S


@dataclass(frozen=True)
class Window:
    """When the service may begin, both ends included."""

    open_s: int
    close_s: int

    def __post_init__(self) -> None:
        times = _is_time(self.open_s) and _is_time(self.close_s)
        _require(times, f"Window {self.open_s} to {self.close_s}: write whole seconds of the day.")
        _require(self.open_s <= self.close_s, f"Window {self.open_s} ends before it opens.")


@dataclass(frozen=True)
class Stop:
    """One visit to plan.

    `location` is a row of the travel matrix. No window means any time of the shift.
    `fixed_technician` is who was promised: the stop stays with that technician. `penalty_s` is
    what leaving it out costs, in seconds of driving.
    """

    id: str
    location: int
    service_s: int
    windows: tuple[Window, ...] = ()
    required_skills: frozenset[str] = frozenset()
    fixed_technician: str | None = None
    priority: int = 2
    penalty_s: int = 20 * 3600

    def __post_init__(self) -> None:
        _require(_is_time(self.service_s), f"Stop {self.id}: service of {self.service_s} seconds.")
        _require(self.priority in (1, 2, 3), f"Stop {self.id}: priority is 1, 2 or 3.")
        _require(self.penalty_s >= 0, f"Stop {self.id}: the penalty is negative.")


@dataclass(frozen=True)
class Break:
    """Lunch: begins within [earliest, latest] and never interrupts a service."""

    earliest_s: int
    latest_s: int
    duration_s: int

    def __post_init__(self) -> None:
        times = (self.earliest_s, self.latest_s, self.duration_s)
        _require(all(map(_is_time, times)), f"Lunch {times}: write whole seconds of the day.")
        _require(self.earliest_s <= self.latest_s, "Lunch must begin before it may begin.")


@dataclass(frozen=True)
class TechnicianDay:
    """One technician's shift; a route that has stops keeps the lunch."""

    technician: str
    start_location: int
    end_location: int
    start_s: int
    end_s: int
    skills: frozenset[str] = frozenset()
    lunch: Break | None = None

    def __post_init__(self) -> None:
        who = self.technician
        _require(_is_time(self.start_s) and _is_time(self.end_s), f"{who}: shift out of range.")
        _require(self.start_s < self.end_s, f"{who}: the shift ends before it begins.")


@dataclass(frozen=True)
class PlanningProblem:
    """Stops, technicians and the seconds between every two places."""

    stops: tuple[Stop, ...]
    days: tuple[TechnicianDay, ...]
    travel_s: Matrix
    seed: int = 0

    def __post_init__(self) -> None:
        _check_unique("stop", [stop.id for stop in self.stops])
        _check_unique("technician", [day.technician for day in self.days])
        _check_matrix(self.travel_s)
        places = [stop.location for stop in self.stops]
        places += [place for day in self.days for place in (day.start_location, day.end_location)]
        for place in places:
            known = type(place) is int and 0 <= place < len(self.travel_s)
            _require(known, f"Place {place} is not a row of the travel matrix.")

    @cached_property
    def stop_by_id(self) -> dict[str, Stop]:
        return {stop.id: stop for stop in self.stops}

    @cached_property
    def day_by_technician(self) -> dict[str, TechnicianDay]:
        return {day.technician: day for day in self.days}


def _check_unique(noun: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        _require(name not in seen, f"The {noun} {name} is given twice.")
        seen.add(name)


def _check_matrix(matrix: Matrix) -> None:
    for row, cells in enumerate(matrix):
        _require(len(cells) == len(matrix), f"The travel matrix is not square in row {row}.")
        for cell in cells:
            _require(_is_time(cell), f"The travel matrix holds {cell} in row {row}.")
        _require(cells[row] == 0, f"The travel matrix is not zero on the diagonal in row {row}.")
