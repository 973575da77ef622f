"""How long a rule keeps a record, and until when it wants it complete."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from treatments.rules.profile_words import Anchor, DeadlineKind, Evidence
from treatments.rules.retention import add_years

SATURDAY = 5


@dataclass(frozen=True)
class Retention:
    """Years from an anchor; None years are not known."""

    years: int | None = None
    anchor: Anchor = Anchor.APPLICATION_DATE
    evidence: Evidence = Evidence.UNKNOWN


@dataclass(frozen=True)
class Deadline:
    """A time to complete a record; `amount` of hours or days as its kind says."""

    kind: DeadlineKind = DeadlineKind.NONE
    amount: int = 0
    evidence: Evidence = Evidence.UNKNOWN


@dataclass(frozen=True)
class Days:
    """The days a retention may be counted from; None is not known (yet)."""

    applied_on: date
    recorded_on: date
    agreement_end: date | None = None
    last_treatment: date | None = None


def kept_until(retentions: Iterable[Retention], days: Days, firm_years: int) -> date:
    """The first day a record may be purged: the latest of every rule and of the firm's years.

    An anchor that is not known yet counts from the later of work and record; the firm's years
    count from the day of the work (house rule).
    """
    ends = [add_years(days.applied_on, firm_years)]
    for one in retentions:
        if one.years is not None:
            ends.append(add_years(_anchor(one.anchor, days), one.years))
    return max(ends)


def _anchor(anchor: Anchor, days: Days) -> date:
    later = max(days.applied_on, days.recorded_on)
    return {
        Anchor.APPLICATION_DATE: days.applied_on,
        Anchor.RECORD_CREATED: days.recorded_on,
        Anchor.CALENDAR_YEAR_END: date(days.applied_on.year, 12, 31),
        Anchor.AGREEMENT_END: days.agreement_end or later,
        Anchor.LAST_TREATMENT: days.last_treatment or later,
    }[anchor]


def complete_by(deadlines: Iterable[Deadline], finished_at: datetime) -> datetime | None:
    """The earliest moment by which a rule wants the record complete; None where none says so.

    `finished_at` is the end of the work in the time zone of the property; days end there at
    midnight. Business days are Monday to Friday, holidays counted (house rule, the earlier one).
    """
    ends = [due for one in deadlines if (due := due_at(one, finished_at)) is not None]
    return min(ends) if ends else None


def due_at(deadline: Deadline, finished_at: datetime) -> datetime | None:
    """The moment one rule wants the record complete by; None where it states no time."""
    kind, amount = deadline.kind, deadline.amount
    if kind == DeadlineKind.NONE:
        return None
    if kind == DeadlineKind.HOURS_AFTER_END:
        return finished_at + timedelta(hours=amount)
    midnight = _end_of(finished_at, finished_at.date())
    if kind == DeadlineKind.SAME_DAY:
        return midnight
    if kind == DeadlineKind.HOURS_AFTER_DATE:
        return midnight + timedelta(hours=amount)
    if kind == DeadlineKind.DAYS:
        return _end_of(finished_at, finished_at.date() + timedelta(days=amount))
    return _end_of(finished_at, business_days_after(finished_at.date(), amount))


def _end_of(moment: datetime, day: date) -> datetime:
    return datetime.combine(day + timedelta(days=1), time(), moment.tzinfo)


def business_days_after(day: date, count: int) -> date:
    """The day that is `count` days from Monday to Friday later."""
    while count > 0:
        day += timedelta(days=1)
        count -= day.weekday() < SATURDAY
    return day
