"""The contact log: how somebody was reached, what came of it, and when to call again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from enum import StrEnum

from accounts.refusals import Refused


class Way(StrEnum):
    """How somebody was or tried to be reached."""

    CALL = "call"
    CALLED_US = "called_us"
    TEXT = "text"
    EMAIL = "email"
    DOOR = "door"


WAY_WORDS: Mapping[Way, str] = {
    Way.CALL: "We called",
    Way.CALLED_US: "They called",
    Way.TEXT: "Text message",
    Way.EMAIL: "E-mail",
    Way.DOOR: "At the door",
}


class Outcome(StrEnum):
    """What came of it."""

    REACHED = "reached"
    NO_ANSWER = "no_answer"
    MESSAGE = "message"
    WRONG = "wrong"


OUTCOME_WORDS: Mapping[Outcome, str] = {
    Outcome.REACHED: "Reached",
    Outcome.NO_ANSWER: "No answer",
    Outcome.MESSAGE: "Left a message",
    Outcome.WRONG: "Wrong number",
}
# house rule: when nobody answered, the next working day is proposed
AGAIN_AFTER = timedelta(days=1)
LONGEST_AHEAD = timedelta(days=366)


def again_on(outcome: str, today: date) -> date | None:
    """The day proposed for the next call; none after somebody was reached or the number is wrong.

    Saturday and Sunday are passed over (house rule).
    """
    if outcome in (Outcome.REACHED, Outcome.WRONG):
        return None
    day = today + AGAIN_AFTER
    while day.weekday() >= 5:
        day += AGAIN_AFTER
    return day


def refuse_day(day: date | None, today: date) -> None:
    """Refuse a day to call again that is over or more than a year ahead."""
    if day is not None and not today <= day <= today + LONGEST_AHEAD:
        raise Refused(
            "call_again",
            "Choose a day to call again from today to a year ahead.",
            field="call_again_on",
        )
