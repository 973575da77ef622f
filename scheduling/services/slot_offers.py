"""The background job that keeps the best place of every waiting renewal."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.selectors.people import branches_for
from scheduling.models import Renewal, SlotOffer
from scheduling.selectors.slots import BranchDays, branch_days, choices_for

if TYPE_CHECKING:
    from scheduling.rules.slots import Choice

MINUTES = 45  # house rule: what a renewal is expected to take
RENEWALS_A_BATCH = 100  # one transaction; short, since SQLite has one writer at a time


def offer_slots(*, now: datetime) -> int:
    """Find the best place of every waiting renewal anew; how many have one.

    Ranking happens before each transaction; an offer is advice, booking checks everything again.
    """
    made = 0
    for branch in branches_for(None):
        read = branch_days(branch, now)
        rows = Renewal.objects.waiting().filter(property__branch=branch)
        waiting = list(rows.select_related("property").order_by("lapses_on", "pk"))
        for first in range(0, len(waiting), RENEWALS_A_BATCH):
            made += _replace(waiting[first : first + RENEWALS_A_BATCH], read)
    SlotOffer.objects.exclude(renewal__in=Renewal.objects.waiting().values("pk")).delete()
    return made


def _replace(renewals: list[Renewal], read: BranchDays) -> int:
    best = [(one, choices_for(one.property, MINUTES, read, renewal=one)[:1]) for one in renewals]
    offers = [_offer(renewal, found[0], read.now) for renewal, found in best if found]
    with transaction.atomic():
        SlotOffer.objects.filter(renewal__in=renewals).delete()
        SlotOffer.objects.bulk_create(offers, ignore_conflicts=True)
    return len(offers)


def _offer(renewal: Renewal, choice: Choice, now: datetime) -> SlotOffer:
    return SlotOffer(
        renewal=renewal,
        technician_id=choice.technician,
        day=choice.day,
        window_opens=choice.opens,
        window_closes=choice.closes,
        minutes=MINUTES,
        added_minutes=choice.added_s // 60,
        reasons="; ".join(choice.reasons),
        made_at=now,
    )


def forget_offers(*, technician_id: int, day: date) -> None:
    """Take away the offers of a day that just changed; the job makes new ones.

    Belongs into the transaction of the booking or move, so that no page shows a place that is gone.
    """
    SlotOffer.objects.filter(technician=technician_id, day=day).delete()
