"""The places a visit could have in days that are planned already, ranked, with why in words.

Planned visits keep their times, so the only new thing is in one gap between two of them. Pure: no
clock, no tables. Times are whole seconds since local midnight of the day.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, time
from functools import cached_property

from scheduling.rules.day_words import count, full_day
from scheduling.rules.routing.problem import Break, Window
from scheduling.rules.travel import Point, drive_seconds

Drive = Callable[[Point | None, Point | None], int]

# House rules, in minutes of driving; every one can be outweighed by enough driving.
A_DAY_LAPSED = 15
A_DAY_BEFORE_GOOD_TIME = 2
A_DAY_AFTER_GOOD_TIME = 1
OUTSIDE_PREFERRED = 20


@dataclass(frozen=True)
class Fixed:
    """A planned visit: where, from when to when."""

    at: Point | None
    start_s: int
    end_s: int


@dataclass(frozen=True)
class DaySheet:
    """One technician's day as it is planned, shop to shop; `stops` in the order of their times."""

    technician: int
    name: str
    day: date
    home: Point | None
    start_s: int
    end_s: int
    lunch: Break | None = None
    stops: tuple[Fixed, ...] = ()


@dataclass(frozen=True)
class Offered:
    """One arrival window of a day: the clock as it is promised, the seconds, whether preferred."""

    opens: time
    closes: time
    span: Window
    is_preferred: bool = True


@dataclass(frozen=True)
class Asked:
    """What needs a place: where, how long, when it is good and when the protection lapses."""

    at: Point | None
    service_s: int
    good_on: date | None = None
    lapses_on: date | None = None


@dataclass(frozen=True)
class Choice:
    """One place: who, when, how much it adds to the driving, and what it costs in all."""

    technician: int
    name: str
    day: date
    opens: time
    closes: time
    start_s: int
    added_s: int
    cost: int
    is_preferred: bool
    days_to_lapse: int | None

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why this choice stands where it stands, in words."""
        found = [f"{self.added_s // 60} min more driving"]
        if self.days_to_lapse is not None:
            found.append(_lapse_words(self.days_to_lapse))
        if not self.is_preferred:
            found.append("outside the times the customer prefers")
        return tuple(found)


def _lapse_words(days: int) -> str:
    if days > 0:
        return f"{count(days, 'day')} before the lapse"
    return "on the day of the lapse" if days == 0 else f"{count(-days, 'day')} after the lapse"


@dataclass(frozen=True)
class _Gap:
    """The time between two stops: free from, back by, and the drive there is now."""

    since: int
    until: int
    before: Point | None
    after: Point | None
    drive: int

    def holds(self, lunch: Break) -> bool:
        begins = max(self.since, lunch.earliest_s)
        ready = max(self.since + self.drive, begins) + lunch.duration_s
        return begins <= lunch.latest_s and ready <= self.until


@dataclass(frozen=True)
class _Line:
    """A day cut into its gaps."""

    sheet: DaySheet
    gaps: tuple[_Gap, ...]

    @cached_property
    def lunch_gaps(self) -> frozenset[int]:
        lunch = self.sheet.lunch
        if lunch is None:
            return frozenset()
        return frozenset(n for n, gap in enumerate(self.gaps) if gap.holds(lunch))

    @property
    def stands(self) -> bool:
        """Whether the day as planned can be kept; an empty day needs no lunch."""
        if any(gap.since + gap.drive > gap.until for gap in self.gaps):
            return False
        return not (self.sheet.stops and self.sheet.lunch) or bool(self.lunch_gaps)


def _line(sheet: DaySheet, drive: Drive) -> _Line:
    ends = [(sheet.home, sheet.start_s), *((one.at, one.end_s) for one in sheet.stops)]
    begins = [*((one.at, one.start_s) for one in sheet.stops), (sheet.home, sheet.end_s)]
    return _Line(
        sheet,
        tuple(
            _Gap(since, until, before, after, drive(before, after) if sheet.stops else 0)
            for (before, since), (after, until) in zip(ends, begins, strict=True)
        ),
    )


def rank(
    asked: Asked,
    days: Iterable[tuple[DaySheet, Sequence[Offered]]],
    *,
    drive: Drive = drive_seconds,
) -> tuple[Choice, ...]:
    """Every technician, day and window with a place, the cheapest first.

    Within one window the place adds the least driving; ties go to the earlier place. Between
    windows `cost` decides (minutes: added driving and the house rules above), then the day, the
    hour and the technician. Days that cannot be kept as planned have no place.
    """
    found = [
        choice
        for sheet, windows in days
        for choice in _of_day(asked, _line(sheet, drive), windows, drive)
    ]
    return tuple(sorted(found, key=_order))


def _order(choice: Choice) -> tuple[int, date, time, int]:
    return choice.cost, choice.day, choice.opens, choice.technician


def _of_day(asked: Asked, line: _Line, windows: Sequence[Offered], drive: Drive) -> list[Choice]:
    if not line.stands:
        return []
    wide = [n for n, gap in enumerate(line.gaps) if gap.until - gap.since >= asked.service_s]
    legs = {
        n: (drive(line.gaps[n].before, asked.at), drive(asked.at, line.gaps[n].after)) for n in wide
    }
    added = {n: there + back - line.gaps[n].drive for n, (there, back) in legs.items()}
    order = sorted(wide, key=lambda n: (added[n], n))
    found = []
    for window in windows:
        for n in order:
            start = _start(asked, line, n, legs[n], window.span)
            if start is not None:
                found.append(_choice(asked, line.sheet, window, start, added[n]))
                break
    return found


def _start(asked: Asked, line: _Line, n: int, legs: tuple[int, int], span: Window) -> int | None:
    """The earliest begin in one gap inside the window, with lunch kept somewhere in the day."""
    gap, lunch, (there, back) = line.gaps[n], line.sheet.lunch, legs
    last = min(span.close_s, gap.until - back - asked.service_s)
    first = max(gap.since + there, span.open_s)
    if lunch is None or line.lunch_gaps - {n}:
        return first if first <= last else None
    after = _lunch_after(asked, gap, back, lunch)
    if after is not None and first <= min(last, after):
        return first
    begins = max(gap.since, lunch.earliest_s)
    fed = max(max(gap.since + there, begins) + lunch.duration_s, span.open_s)
    return fed if begins <= lunch.latest_s and fed <= last else None


def _lunch_after(asked: Asked, gap: _Gap, back: int, lunch: Break) -> int | None:
    """The latest begin of the work that leaves lunch behind it in the same gap."""
    if lunch.earliest_s + lunch.duration_s > gap.until:
        return None
    return min(lunch.latest_s, gap.until - back - lunch.duration_s) - asked.service_s


def _choice(asked: Asked, sheet: DaySheet, window: Offered, start: int, added: int) -> Choice:
    to_lapse = (asked.lapses_on - sheet.day).days if asked.lapses_on else None
    return Choice(
        technician=sheet.technician,
        name=sheet.name,
        day=sheet.day,
        opens=window.opens,
        closes=window.closes,
        start_s=start,
        added_s=added,
        cost=_cost(asked, sheet.day, window, added),
        is_preferred=window.is_preferred,
        days_to_lapse=to_lapse,
    )


def _cost(asked: Asked, day: date, window: Offered, added: int) -> int:
    off = (day - asked.good_on).days if asked.good_on else 0
    lapsed = max(0, (day - asked.lapses_on).days) if asked.lapses_on else 0
    return (
        added // 60
        + lapsed * A_DAY_LAPSED
        + max(0, -off) * A_DAY_BEFORE_GOOD_TIME
        + max(0, off) * A_DAY_AFTER_GOOD_TIME
        + (0 if window.is_preferred else OUTSIDE_PREFERRED)
    )


def spread(choices: Sequence[Choice], most: int) -> tuple[Choice, ...]:
    """The best choices that a caller can tell apart: one a day and technician, then by rank."""
    seen: set[tuple[int, date]] = set()
    found = []
    for one in choices:
        if (one.technician, one.day) not in seen:
            seen.add((one.technician, one.day))
            found.append(one)
        if len(found) == most:
            break
    return tuple(found)


def read_out(choices: Sequence[Choice]) -> str:
    """Up to three offers as they are said on the telephone."""
    said = [
        f"{one.day:%A}, {full_day(one.day)}, between {_spoken(one.opens)} and "
        f"{_spoken(one.closes)} with {one.name}"
        for one in choices
    ]
    if not said:
        return "We have no time free that fits. Shall we look at other days or hours?"
    if len(said) == 1:
        return f"We could come on {said[0]}. Would that suit you?"
    return f"We could come on {'; or on '.join(said)}. Which suits you best?"


def _spoken(at: time) -> str:
    hour, half = at.hour % 12 or 12, "AM" if at.hour < 12 else "PM"
    return f"{hour}:{at.minute:02} {half}" if at.minute else f"{hour} {half}"
