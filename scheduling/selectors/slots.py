"""The free places of a branch in the next three weeks, as the slot rules take and give them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

from accounts.selectors.people import technicians_of
from scheduling.rules.day_words import local
from scheduling.rules.local_clock import instant, is_shown, second_of
from scheduling.rules.public_holidays import holiday_name
from scheduling.rules.routing.problem import Window
from scheduling.rules.slots import Asked, Choice, DaySheet, Fixed, Offered, rank
from scheduling.selectors.day_problem import next_minute, point_of, technician_day
from scheduling.selectors.days import WorkDay, work_days

if TYPE_CHECKING:
    from accounts.models import Branch, Person
    from scheduling.models import Renewal
    from sites.models import Property

SEARCH_DAYS = 21
# house rule: the arrival windows that are promised
WINDOWS = ((time(8), time(10)), (time(10), time(12)), (time(12), time(14)), (time(14), time(16)))


@dataclass(frozen=True)
class CustomerAsks:
    """What a caller asks for; what is empty is all the same to them.

    Hours outside `since` to `until` and other weekdays are left out, not only ranked lower.
    """

    weekdays: frozenset[int] = frozenset()
    since: time | None = None
    until: time | None = None
    technician: int | None = None
    from_day: date | None = None
    on_holidays: bool = False


@dataclass(frozen=True)
class BranchDays:
    """The planned days of a branch's technicians, read once for any number of questions."""

    branch: Branch
    now: datetime
    days: tuple[tuple[Person, DaySheet], ...]


def branch_days(branch: Branch, now: datetime) -> BranchDays:
    """Every working day of the next three weeks, in five queries."""
    people = list(technicians_of(branch.pk).select_related("branch").prefetch_related("licenses"))
    today = local(now, branch.time_zone).date()
    days = [today + timedelta(days=n) for n in range(SEARCH_DAYS)]
    works = work_days(people, days).values()
    sheets = ((one.technician, _sheet(one, branch)) for one in works if one.is_working)
    return BranchDays(branch, now, tuple(sheets))


def _sheet(work: WorkDay, branch: Branch) -> DaySheet:
    zone = branch.time_zone
    hours = technician_day(work, zone)
    return DaySheet(
        technician=work.technician.pk,
        name=work.technician.full_name,
        day=work.day,
        home=point_of(branch),
        start_s=hours.start_s,
        end_s=hours.end_s,
        lunch=hours.lunch,
        stops=tuple(
            Fixed(
                point_of(one.property),
                second_of(one.starts_at, work.day, zone),
                second_of(one.ends_at, work.day, zone),
            )
            for one in work.planned
            if one.starts_at and one.ends_at
        ),
    )


def choices_for(
    place: Property,
    minutes: int,
    read: BranchDays,
    *,
    renewal: Renewal | None = None,
    asks: CustomerAsks | None = None,
) -> tuple[Choice, ...]:
    """Every place for a visit at a property, the best first; see `scheduling.rules.slots`.

    A renewal has no place before the label allows the return; a technician has none without a
    license of the property's state on that day. Public holidays are left out unless asked for.
    """
    asked = Asked(
        at=point_of(place),
        service_s=minutes * 60,
        good_on=renewal.due_on if renewal else None,
        lapses_on=renewal.lapses_on if renewal else None,
    )
    wanted = asks or CustomerAsks()
    opens = renewal.opens_on if renewal else date.min
    return rank(asked, _open_days(place, read, max(opens, wanted.from_day or opens), wanted))


def _open_days(
    place: Property, read: BranchDays, since: date, asks: CustomerAsks
) -> Iterator[tuple[DaySheet, Sequence[Offered]]]:
    windows: dict[date, list[Offered]] = {}
    for person, sheet in read.days:
        day = sheet.day
        if day < since or asks.technician not in (None, person.pk):
            continue
        if asks.weekdays and day.weekday() not in asks.weekdays:
            continue
        if holiday_name(day, place.state) and not asks.on_holidays:
            continue
        if not _is_licensed(person, place.state, day):
            continue
        if day not in windows:
            windows[day] = list(_windows(read, day, asks))
        yield sheet, windows[day]


def _is_licensed(person: Person, state: str, day: date) -> bool:
    held = (one for one in person.licenses.all() if one.state == state)
    return any(one.issued_on <= day <= one.expires_on for one in held)


def _windows(read: BranchDays, day: date, asks: CustomerAsks) -> Iterator[Offered]:
    zone = read.branch.time_zone
    soonest = second_of(next_minute(read.now), day, zone)
    for opens, closes in WINDOWS:
        if (asks.since and opens < asks.since) or (asks.until and closes > asks.until):
            continue
        first, last = (second_of(instant(day, at, zone), day, zone) for at in (opens, closes))
        if is_shown(day, opens, zone) and is_shown(day, closes, zone) and soonest < last:
            yield Offered(opens, closes, Window(max(first, soonest, 0), last))


def technicians_in(read: BranchDays) -> Collection[tuple[int, str]]:
    """Who works at all in these days."""
    return sorted({(one.pk, one.full_name) for one, _ in read.days}, key=lambda pair: pair[1])
