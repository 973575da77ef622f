"""What a record lacks by the rules it follows, and whether it came in time (checks A01, A02)."""

from __future__ import annotations

from collections.abc import Iterable, Set
from datetime import datetime
from zoneinfo import ZoneInfo

from accounts.rules.day_words import clock, short_day
from treatments.rules.applications import Application
from treatments.rules.device_times import Written, written
from treatments.rules.label_checks import Judgement
from treatments.rules.products import Severity
from treatments.rules.profile_terms import due_at
from treatments.rules.profile_words import ITEM_WORDS, NOT_KNOWN, Item, Mark
from treatments.rules.profiles import Asking, Gap, Profile, gaps
from treatments.selectors.profile_jobs import Followed, given_by
from treatments.selectors.whole import Whole

MISSING, LATE = "A01", "A02"
CLOCK_CLAUSE = "Clock of the device (house rule)"


def judge_rules(
    whole: Whole, followed: Followed, phone: str, now: datetime
) -> tuple[Judgement, ...]:
    """One judgement a rule and severity for what is missing, one for what came late.

    A verified rule that surely asks makes a violation; every other gap is to be checked.
    """
    found = judge_gaps(followed, given_by(whole, phone))
    return (*found, *_late(whole, followed.profiles, now))


def judge_gaps(followed: Followed, given: Set[Item]) -> tuple[Judgement, ...]:
    """Check A01 alone: what the rules ask of the job and `given` lacks."""
    return tuple(_gap(gap) for gap in gaps(followed.profiles, followed.job, given))


def _gap(gap: Gap) -> Judgement:
    items = ", ".join(asking_words(one) for one in gap.askings)
    if gap.is_firm:
        sentence = f"Missing: {items}."
    elif all(one.mark == Mark.UNKNOWN for one in gap.askings):
        sentence = f"{NOT_KNOWN}: {items}."
    else:
        sentence = f"Missing, by a rule that is not verified: {items}."
    severity = Severity.VIOLATION if gap.is_firm else Severity.WARN
    return Judgement(MISSING, severity, sentence, gap.profile.source, "Complete it.")


def asking_words(asking: Asking) -> str:
    """What one rule asks: an item, or the ways of which one is enough."""
    if not asking.ways:
        return ITEM_WORDS[asking.item].lower()
    return " or ".join(_way(way) for way in asking.ways)


def _way(way: frozenset[Item]) -> str:
    return " with ".join(ITEM_WORDS[item].lower() for item in sorted(way))


def written_at(application: Application, now: datetime) -> Written:
    """When an application was written down, which arrives now."""
    return written(
        application.device_time,
        application.device_skew_s,
        application.sent_skew_s,
        finished_at=application.finished_at,
        received_at=now,
    )


def _late(whole: Whole, profiles: Iterable[Profile], now: datetime) -> list[Judgement]:
    """Late is what was written late; what was written in time and came late is only noted."""
    zone = ZoneInfo(whole.place.branch.time_zone)
    when = written_at(whole.application, now)
    found = [_doubted(when)] if when.doubts else []
    for one in profiles:
        due = due_at(one.deadline, whole.application.finished_at.astimezone(zone))
        if due is not None and when.at > due:
            found.append(_came_late(one, due))
        elif due is not None and now > due:
            found.append(_in_time(one, when.at.astimezone(zone), now.astimezone(zone)))
    return found


def _doubted(when: Written) -> Judgement:
    sentence = (
        f"The clock of the device is in doubt: {'; '.join(when.doubts)}. The record counts as "
        "written when it arrived."
    )
    return Judgement(LATE, Severity.WARN, sentence, CLOCK_CLAUSE, "Ask who wrote it when that was.")


def _in_time(profile: Profile, at: datetime, now: datetime) -> Judgement:
    first, last = (f"{short_day(one.date(), True)}, {clock(one)}" for one in (at, now))
    sentence = f"Written in time, {first}, received late, {last}"
    return Judgement(LATE, Severity.NOTE, sentence, profile.source)


def _came_late(profile: Profile, due: datetime) -> Judgement:
    sentence = f"Recorded after {short_day(due.date(), True)}, {clock(due)}, when it was due."
    severity = Severity.VIOLATION if profile.is_verified else Severity.WARN
    return Judgement(LATE, severity, sentence, profile.source)
