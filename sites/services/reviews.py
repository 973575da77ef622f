"""The daily look for yearly reviews that are due."""

from __future__ import annotations

from datetime import date, datetime

from accounts.rules.day_words import short_day
from accounts.rules.item_watch import Finding
from accounts.services.audit import name_of
from accounts.services.item_watch import settle_items
from sites.selectors.logbook import reviews_next

REVIEW_DUE = "site_review_due"
REVIEWED = "The next review was written."


def watch_reviews(*, today: date, now: datetime) -> None:
    """Open an item for each property whose next review is due, close it when that moved on."""
    known = reviews_next()
    due = [(place, day) for place, day in known if day <= today]
    settle_items(
        codes=[REVIEW_DUE],
        findings=[
            Finding(
                REVIEW_DUE,
                place.branch_id,
                name_of(place),
                f"The yearly review of {place} was due {short_day(day, True)}. Go through the "
                "logbook with the customer and write it down.",
            )
            for place, day in due
        ],
        looked_at=[name_of(place) for place, _ in known],
        now=now,
    )
