"""The windows of a zone as they stand on the residual line, and the same in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from accounts.rules.day_words import short_day


@dataclass(frozen=True)
class LineWindow:
    """One treatment: done on, the label allows the return on, lapses on; `label` says why."""

    applied_on: date
    opens_on: date
    expires_on: date
    label: str = ""


@dataclass(frozen=True)
class ZoneLine:
    """A zone with its windows in any order; `size` is its measure in words.

    `parts` are treatments of which something was left out: the zone stays due.
    """

    name: str
    windows: tuple[LineWindow, ...]
    size: str = ""
    parts: tuple[LineWindow, ...] = ()


@dataclass(frozen=True)
class Stretch:
    """What is drawn of a window: from treatment to lapse, or to the treatment that followed."""

    window: LineWindow
    until: date

    @property
    def hatched_until(self) -> date:
        """The last day drawn with the hatch: the return opens, or the bar ends before it."""
        return min(self.window.opens_on, self.until)


def stretches(windows: Sequence[LineWindow]) -> list[Stretch]:
    """The windows in order, each cut where the next treatment began.

    Of two windows of one day the longer is drawn.
    """
    longest: dict[date, LineWindow] = {}
    for window in sorted(windows, key=lambda one: (one.applied_on, one.expires_on)):
        longest[window.applied_on] = window
    days = [*longest, date.max]
    return [
        Stretch(window, min(window.expires_on, following))
        for window, following in zip(longest.values(), days[1:], strict=True)
    ]


def bare_gaps(windows: Sequence[LineWindow], until: date) -> list[tuple[date, date]]:
    """The days with nothing in force: from each lapse to the next treatment, at last `until`."""
    drawn = stretches(windows)
    follow = [*(one.window.applied_on for one in drawn[1:]), until]
    pairs = ((one.until, day) for one, day in zip(drawn, follow, strict=False))
    return [(lapse, day) for lapse, day in pairs if day > lapse]


def line_sentence(zone: ZoneLine, today: date) -> str:
    """The state of a zone for the staff: "6 days left, lapses Nov 15"."""
    lapse = lapse_of(zone)
    if lapse is None:
        return "treated in part only" if zone.parts else "no residual treatment known"
    left = (lapse - today).days
    day = short_day(lapse, lapse.year != today.year)
    if left < 0:
        return f"lapsed {days_in_words(-left)} ago, {day}"
    return f"{days_in_words(left)} left, lapses {day}" if left else f"lapses today, {day}"


def line_days(zone: ZoneLine, today: date) -> str:
    """The same in three words for a narrow column: "6 d left", "6 d lapsed"."""
    lapse = lapse_of(zone)
    if lapse is None:
        return "part only" if zone.parts else "none known"
    left = (lapse - today).days
    if left > 0:
        return f"{left} d left"
    return "lapses today" if left == 0 else f"{-left} d lapsed"


def lapse_of(zone: ZoneLine) -> date | None:
    """The day the last treatment of the zone lapses; None when there is none."""
    drawn = stretches(zone.windows)
    return drawn[-1].until if drawn else None


def days_in_words(count: int) -> str:
    """1 day, 2 days."""
    return f"{count} day" if count == 1 else f"{count} days"
