"""Storing proposed renewals: a new one, or zones that join the one that waits already."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date

from django.db import IntegrityError, transaction

from scheduling.models import Renewal, RenewalZone
from scheduling.rules.renewals import ProposedRenewal, WindowFacts, plan_renewals
from scheduling.services.reconcile import date_anew, facts_of_lines


def open_renewals(
    windows: Sequence[WindowFacts], waiting: Mapping[int, Renewal], today: date, lead_days: int
) -> Counter[str]:
    """Open what lapses within `lead_days`; count renewals "opened", their "zones", and "joined".

    `windows` are in force and have no renewal; `waiting` are renewals not booked yet, by property.
    A zone joins the waiting one when one visit can serve both.
    """
    zone_of = {one.window_id: one.zone_id for one in windows}
    joining: list[ProposedRenewal] = []
    opening: list[ProposedRenewal] = []
    for one in plan_renewals(windows, today, lead_days=lead_days):
        held = waiting.get(one.property_id)
        together = held is not None and _meets(held, one, today)
        (joining if together else opening).append(one)
    tally = _open_all(opening, zone_of)
    for one in joining:
        tally["joined"] += _join(waiting[one.property_id], one, zone_of, today)
    return +tally


def _meets(held: Renewal, one: ProposedRenewal, today: date) -> bool:
    latest = min(max(held.due_on, held.opens_on, today), one.due_on)
    return max(held.opens_on, one.opens_on, today) <= latest


def _open_all(proposals: Sequence[ProposedRenewal], zone_of: Mapping[int, int]) -> Counter[str]:
    """All at once; after a conflict one property at a time, leaving out whose window is taken."""
    try:
        with transaction.atomic():
            _insert(proposals, zone_of)
    except IntegrityError:
        return sum((_open_one(one, zone_of) for one in proposals), Counter())
    return Counter(opened=len(proposals), zones=sum(len(one.zone_ids) for one in proposals))


def _open_one(proposal: ProposedRenewal, zone_of: Mapping[int, int]) -> Counter[str]:
    try:
        with transaction.atomic():
            _insert([proposal], zone_of)
    except IntegrityError:
        return Counter()
    return Counter(opened=1, zones=len(proposal.zone_ids))


def _insert(proposals: Sequence[ProposedRenewal], zone_of: Mapping[int, int]) -> None:
    renewals = Renewal.objects.bulk_create(
        Renewal(
            property_id=one.property_id,
            opens_on=one.opens_on,
            due_on=one.due_on,
            lapses_on=one.lapses_on,
            reason=one.reason,
            work=one.work,
        )
        for one in proposals
    )
    RenewalZone.objects.bulk_create(
        line
        for renewal, one in zip(renewals, proposals, strict=True)
        for line in _lines(renewal, one, zone_of)
    )


def _lines(
    renewal: Renewal, proposal: ProposedRenewal, zone_of: Mapping[int, int]
) -> list[RenewalZone]:
    return [
        RenewalZone(renewal=renewal, window_id=window_id, zone_id=zone_of[window_id])
        for window_id in proposal.window_ids
    ]


def _join(held: Renewal, proposal: ProposedRenewal, zone_of: Mapping[int, int], today: date) -> int:
    try:
        with transaction.atomic():
            RenewalZone.objects.bulk_create(_lines(held, proposal, zone_of))
            lines = RenewalZone.objects.filter(renewal=held).select_related("window", "zone")
            lines = lines.prefetch_related("window__overrides")
            date_anew(held, facts_of_lines(list(lines), today), today)
    except IntegrityError:
        return 0
    return len(proposal.zone_ids)
