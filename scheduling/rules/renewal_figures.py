"""Figures of renewals for the manager: booked before the lapse, days ahead, days not covered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from scheduling.rules.renewals import bare_spans


@dataclass(frozen=True)
class RenewalFact:
    """One renewal: when it lapses, when it was booked first (None: never), why it was declined."""

    lapses_on: date
    booked_on: date | None
    declined: str | None = None


@dataclass(frozen=True)
class MonthFigures:
    """Renewals that lapsed in one month: `in_time` were booked before, `ahead` days in the middle.

    `ahead` is None where none was booked; below zero it was booked after the lapse.
    """

    month: date
    renewals: int
    in_time: int
    late: int
    declined: int
    ahead: float | None

    @property
    def never(self) -> int:
        """Neither booked nor declined."""
        return self.renewals - self.in_time - self.late - self.declined


def by_month(facts: Iterable[RenewalFact]) -> list[MonthFigures]:
    """The figures of each month of a lapse, in order."""
    found: dict[date, list[RenewalFact]] = {}
    for one in facts:
        found.setdefault(one.lapses_on.replace(day=1), []).append(one)
    return [_month(month, found[month]) for month in sorted(found)]


def _month(month: date, facts: Sequence[RenewalFact]) -> MonthFigures:
    kept = [one for one in facts if one.declined is None and one.booked_on is not None]
    ahead = [(one.lapses_on - one.booked_on).days for one in kept if one.booked_on is not None]
    in_time = sum(days > 0 for days in ahead)
    return MonthFigures(
        month=month,
        renewals=len(facts),
        in_time=in_time,
        late=len(ahead) - in_time,
        declined=sum(one.declined is not None for one in facts),
        ahead=median(ahead) if ahead else None,
    )


def declined_reasons(facts: Iterable[RenewalFact]) -> list[tuple[str, int]]:
    """Each reason as written and how often, the most frequent first."""
    said = Counter(one.declined for one in facts if one.declined is not None)
    return sorted(((why, many) for why, many in said.items()), key=lambda one: (-one[1], one[0]))


Windows = Sequence[tuple[date, date]]


def bare_of_property(zones: Mapping[int, Windows], start: date, end: date) -> int:
    """Days of `start <= day < end` on which some zone of a property has no window.

    `zones` are windows (applied on, lapses on) by zone. A zone counts from its first treatment
    on: before that nobody promised anything.
    """
    days: set[int] = set()
    for windows in zones.values():
        if windows:
            begins = max(start, min(applied_on for applied_on, _ in windows))
            for first, last in bare_spans(windows, begins, end):
                days.update(range(first.toordinal(), last.toordinal()))
    return len(days)
