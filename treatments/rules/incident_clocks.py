"""By when an agency wants to be told of an incident: dated rule rows, and what the clock says.

Rows with hours say what was read; a state without a row has no clock here, which is a warning and
never an all-clear.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from treatments.rules.incidents import IncidentKind

EVERY_KIND = frozenset(IncidentKind)
SECONDS_AN_HOUR, SECONDS_A_MINUTE = 3600, 60


class Evidence(StrEnum):
    """How a rule is known."""

    READ = "read"
    FROM_MEMORY = "from memory, unverified"


@dataclass(frozen=True)
class NoticeRule:
    """What one state asks after an incident of some kinds.

    `hours` from the incident to the notice, None where the text read gives none; in force from
    `since` to `until`, both inclusive, None where the copy read does not say.
    """

    code: str
    state: str
    kinds: frozenset[IncidentKind]
    hours: int | None
    asks: str
    clause: str
    evidence: Evidence
    since: date | None = None
    until: date | None = None

    def is_in_force(self, on: date) -> bool:
        """Whether the row counts on a day."""
        return (self.since is None or self.since <= on) and (self.until is None or on <= self.until)


RULES = (
    NoticeRule(
        "US-MA-333-10.14",
        "MA",
        EVERY_KIND,
        48,
        "Tell the state's pesticide agency",
        "333 CMR 10.14, copy of Dec 6, 2024",
        Evidence.READ,
    ),
    NoticeRule(
        "US-GA-40-21-5",
        "GA",
        frozenset({IncidentKind.SPILL, IncidentKind.EXPOSURE, IncidentKind.DRIFT}),
        None,
        "Write down the occurrence and the corrective action",
        "Ga. R. 40-21-5",
        Evidence.READ,
    ),
)


@dataclass(frozen=True)
class Clock:
    """What was to be told by when, as it was known when the incident was reported."""

    code: str
    hours: int | None
    due_at: datetime | None
    sentence: str
    clause: str


def clock_of(
    kind: IncidentKind, state: str, happened_at: datetime, rules: Iterable[NoticeRule] = RULES
) -> Clock:
    """The clock of an incident, the shortest where several rows apply.

    It runs from the incident, not from when somebody heard of it: the earlier reading (house
    rule). `happened_at` in the zone of the place, for the day the rows are looked up on.
    """
    on = happened_at.date()
    fitting = [r for r in rules if r.state == state and kind in r.kinds and r.is_in_force(on)]
    running = [rule for rule in fitting if rule.hours is not None]
    rule = min(running, key=lambda one: one.hours or 0, default=next(iter(fitting), None))
    if rule is None:
        return Clock("", None, None, _unread(state), "")
    source = f"{rule.clause}; {rule.evidence}"
    if rule.hours is None:
        sentence = f"{rule.asks}. No time limit was read: ask the agency of {state}."
        return Clock(rule.code, None, None, sentence, source)
    # hours that pass, also over a change of the clocks
    due_at = happened_at.astimezone(UTC) + timedelta(hours=rule.hours)
    sentence = f"{rule.asks} within {rule.hours} hours."
    return Clock(rule.code, rule.hours, due_at, sentence, source)


def _unread(state: str) -> str:
    return (
        f"No rule was read for {state}: ask the agency today whether and by when it wants to be "
        "told."
    )


class Standing(StrEnum):
    """How the notice of an incident stands."""

    GIVEN = "given"
    GIVEN_LATE = "given_late"
    RUNNING = "running"
    OVER = "over"
    NO_CLOCK = "no_clock"


@dataclass(frozen=True)
class Reading:
    """The clock in words at one moment."""

    standing: Standing
    words: str

    @property
    def is_late(self) -> bool:
        return self.standing in (Standing.OVER, Standing.GIVEN_LATE)

    @property
    def is_given(self) -> bool:
        return self.standing in (Standing.GIVEN, Standing.GIVEN_LATE)


def read_clock(due_at: datetime | None, given_at: datetime | None, now: datetime) -> Reading:
    """How the notice stands now: given, late, hours left, over, or no clock.

    `given_at` is the first notice. Told at the very moment it is due is in time.
    """
    if given_at is not None:
        if due_at is None or given_at <= due_at:
            return Reading(Standing.GIVEN, "Given" if due_at is None else "Given in time")
        return Reading(Standing.GIVEN_LATE, f"Given {span(due_at, given_at)} late")
    if due_at is None:
        return Reading(Standing.NO_CLOCK, "No clock known")
    if now > due_at:
        return Reading(Standing.OVER, f"{span(due_at, now)} over")
    return Reading(Standing.RUNNING, f"{span(now, due_at)} left")


def span(start: datetime, end: datetime) -> str:
    """31 h 5 min that pass between; only minutes under an hour; days from 72 hours on."""
    seconds = int((end.astimezone(UTC) - start.astimezone(UTC)).total_seconds())
    hours, minutes = seconds // SECONDS_AN_HOUR, seconds % SECONDS_AN_HOUR // SECONDS_A_MINUTE
    if hours >= 72:
        return f"{hours // 24} d {hours % 24} h"
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"
