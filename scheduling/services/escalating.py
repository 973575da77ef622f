"""What nobody booked in time is told to the office, one matter a branch."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from accounts.selectors.people import branches_for
from accounts.services.audit import keep_item
from scheduling.models import Renewal
from scheduling.rules.day_words import count, full_day
from scheduling.rules.renewals import BOOK_DAYS

UNBOOKED = "renewals_not_booked"
GONE = ("Every renewal that lapses soon is booked, declined or done.",)


def watch_unbooked(*, today: date, now: datetime) -> int:
    """Keep one item a branch in line with its renewals not booked by the lead time; how many.

    A renewal should be booked `BOOK_DAYS` before it lapses (house rule).
    """
    return sum(_watched(branch.pk, today, now) for branch in branches_for(None))


def _watched(branch_id: int, today: date, now: datetime) -> int:
    late = Renewal.objects.waiting().filter(
        property__branch=branch_id, lapses_on__lte=today + timedelta(days=BOOK_DAYS)
    )
    days = sorted(late.values_list("lapses_on", flat=True))
    sentence = ""
    if days:
        lapsed = sum(day <= today for day in days)
        since = f", {lapsed} of them lapsed already" if lapsed else ""
        sentence = (
            f"{count(len(days), 'renewal')} should be booked by now{since}. The first lapse is "
            f"that of {full_day(days[0])}. Open Renewals, within {BOOK_DAYS} days, and book or "
            "decline."
        )
    keep_item(
        branch_id=branch_id,
        code=UNBOOKED,
        thing=f"accounts.branch:{branch_id}",
        sentence=sentence,
        gone=GONE,
        now=now,
    )
    return len(days)
