"""Lists of a logbook from the first floor: sightings, actions, plan versions, reviews."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from accounts.rules.day_words import short_day
from treatments.rules.desk import DeskList, counted

if TYPE_CHECKING:
    from sites.models import (
        CorrectiveAction,
        CorrectiveStep,
        ManagementPlan,
        Sighting,
        SightingAnswer,
        SiteReview,
    )

NOT_YET, NOT_NAMED = "No answer yet", "none"


def sighting_list(sightings: Sequence[Sighting], time_zone: str) -> DeskList:
    """What was seen and what was done about it, by the clock of the branch; not who saw it."""
    open_ones = sum(not one.answers.all() for one in sightings)
    said = counted(len(sightings), "sighting")
    return DeskList(
        "sightings",
        "Sightings and answers",
        f"{said}, {open_ones} without an answer" if open_ones else said,
        ("Seen", "What", "Where", "How many", "Answer"),
        tuple(map(partial(_sighting, time_zone), sightings)),
    )


def _sighting(time_zone: str, one: Sighting) -> tuple[str, ...]:
    answers = "; ".join(answer_words(answer, time_zone) for answer in one.answers.all())
    seen = ", ".join(filter(None, (short_day(one.seen_on, True), one.seen_at)))
    return seen, one.what, one.spot, one.get_how_many_display(), answers or NOT_YET


def answer_words(answer: SightingAnswer, time_zone: str) -> str:
    """Who answered when, what was done, and the visit or record it names."""
    by = answer.created_by.full_name if answer.created_by else "the office"
    named = f" ({answer.done_in_words})" if answer.done_in != NOT_NAMED else ""
    on = answer.created_at.astimezone(ZoneInfo(time_zone)).date()
    return f"{short_day(on, True)}, {by}: {answer.note}{named}"


def action_list(actions: Iterable[CorrectiveAction]) -> DeskList:
    """What must be put right, by whom, until when, and what was done about it."""
    rows = [(one, list(one.steps.all())) for one in actions]
    open_ones = sum(not is_put_right(steps) for _, steps in rows)
    said = counted(len(rows), "action")
    return DeskList(
        "actions",
        "Corrective actions",
        f"{said}, {open_ones} open" if open_ones else said,
        ("Asked", "What", "Where", "Who puts it right", "Due", "State"),
        tuple(_action(one, steps) for one, steps in rows),
    )


def is_put_right(steps: Sequence[CorrectiveStep]) -> bool:
    """Whether the last step says that it is put right."""
    return bool(steps) and steps[-1].is_done


def _action(one: CorrectiveAction, steps: Sequence[CorrectiveStep]) -> tuple[str, ...]:
    done = "; ".join(f"{short_day(step.done_on, True)}: {step.note}" for step in steps)
    state = "Put right" if is_put_right(steps) else "Open"
    due = short_day(one.due_on, True) if one.due_on else "no day set"
    asked = short_day(one.asked_on, True)
    words = f"{state}. {done}" if done else state
    return asked, one.what, one.spot, one.get_side_display(), due, words


def plan_list(plans: Sequence[ManagementPlan]) -> DeskList:
    """Every version of the plan, by whom and when."""
    return DeskList(
        "plans",
        "Versions of the plan",
        counted(len(plans), "version"),
        ("Version", "Written", "By", "Entered by"),
        tuple(
            (
                str(one.version),
                short_day(one.written_on, True),
                one.written_by,
                one.created_by.full_name if one.created_by else "the system",
            )
            for one in plans
        ),
        () if plans else ("No integrated pest management plan is written yet.",),
    )


def review_list(reviews: Iterable[SiteReview]) -> DeskList:
    """The yearly reviews, what was found and when the next one is due."""
    rows = tuple(
        (
            short_day(one.reviewed_on, True),
            one.reviewed_by,
            one.notes,
            short_day(one.next_due, True),
        )
        for one in reviews
    )
    missing = () if rows else ("No yearly review is written yet.",)
    said = f"the next is due {rows[0][3]}" if rows else "none yet"
    head = ("Reviewed", "By", "What was found", "Next due")
    return DeskList("reviews", "Yearly reviews", said, head, rows, missing)
