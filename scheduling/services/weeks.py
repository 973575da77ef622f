"""A technician's whole week of hours, set at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from scheduling.selectors.days import shifts_of
from scheduling.services.shifts import remove_shift, set_shift

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class WeekdayHours:
    """The hours of one weekday, 0 for Monday; the lunch window is when lunch may begin."""

    weekday: int
    starts: time
    ends: time
    lunch_from: time
    lunch_until: time
    lunch_minutes: int


def set_week(
    *, technician_id: int, week: Sequence[WeekdayHours], by: Person | None, now: datetime
) -> None:
    """Make the technician's weekly shifts exactly these; a weekday that is missing is free.

    A weekday whose hours do not change is left alone. Refused: what `set_shift` refuses.
    """
    require(by, Permission.EDIT_SHIFTS)
    with transaction.atomic():
        before = {shift.weekday: shift for shift in shifts_of(technician_id)}
        for weekday in sorted(before.keys() - {one.weekday for one in week}):
            remove_shift(shift_id=before[weekday].pk, by=by, now=now)
        for one in week:
            shift = before.get(one.weekday)
            if shift is None or _hours_of(shift) != one:
                set_shift(technician_id=technician_id, by=by, now=now, **vars(one))


def _hours_of(shift: object) -> WeekdayHours:
    names = WeekdayHours.__dataclass_fields__
    return WeekdayHours(**{name: getattr(shift, name) for name in names})
