"""When a customer hears of a visit: the appointment at once, the reminder the day before."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

REMINDED_FROM = time(9)  # house rule: at nine on the clock of the branch
# house rules: who was asked waits a week, and after three letters a person calls
ASKED_AGAIN_AFTER, MOST_LETTERS = timedelta(days=7), 3


def reminder_begins(day: date, time_zone: str) -> datetime:
    """Nine o'clock on the calendar day before a visit, on the clock of the branch, in UTC.

    Not 24 hours before: on the days the clocks change the two differ by an hour.
    """
    before = datetime.combine(day - timedelta(days=1), REMINDED_FROM, ZoneInfo(time_zone))
    return before.astimezone(UTC)


def is_reminded(
    day: date, window_opens_at: datetime, booked_at: datetime, now: datetime, time_zone: str
) -> bool:
    """Whether the reminder goes out now: from the day before until the promised hours begin.

    What was booked after the reminder's time had its appointment letter just then: none.
    """
    begins = reminder_begins(day, time_zone)
    return booked_at < begins <= now < window_opens_at


def asks_again(due_on: date, asked_on: list[date], letters: int, today: date) -> bool:
    """Whether a customer is written to about a task that is past its day."""
    if due_on >= today or letters >= MOST_LETTERS:
        return False
    return not asked_on or max(asked_on) + ASKED_AGAIN_AFTER <= today
