"""The daily look at agreements: renewals to speak of, terms that go on, terms that are over."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction

from accounts.rules.day_words import short_day
from accounts.rules.item_watch import Finding
from accounts.services.audit import name_of, note_event
from accounts.services.item_watch import settle_items
from scheduling.models import AgreementStep, ServiceAgreement
from scheduling.rules.agreement_states import AgreementState
from scheduling.rules.agreements import is_renewal_near, term_after
from scheduling.services.agreements import RUNNING

AGREEMENT_RENEWAL = "agreement_renewal"


def watch_agreements(*, today: date, now: datetime) -> None:
    """Carry terms on, end those that are over, and keep one item for each renewal that is near.

    Again, or twice at once, it changes nothing a second time.
    """
    for one in ServiceAgreement.objects.filter(state__in=RUNNING, ends_on__lt=today):
        _over(one, today, now)
    rows = ServiceAgreement.objects.select_related("property", "program")
    known = list(rows.filter(state=AgreementState.ACTIVE))
    settle_items(
        codes=[AGREEMENT_RENEWAL],
        findings=[_finding(one) for one in known if is_renewal_near(one.ends_on, today)],
        looked_at=[name_of(one) for one in rows],
        now=now,
    )


@transaction.atomic
def _over(one: ServiceAgreement, today: date, now: datetime) -> None:
    same = ServiceAgreement.objects.filter(pk=one.pk, state=one.state, ends_on=one.ends_on)
    if one.renews:
        ends_on = term_after(one.starts_on, one.months, today)
        if same.update(ends_on=ends_on):
            note_event(by=None, act="agreement_goes_on", thing=one, now=now, until=str(ends_on))
    elif same.update(state=AgreementState.ENDED):
        last = short_day(one.ends_on, True)
        AgreementStep.objects.create(
            agreement=one,
            old=one.state,
            new=AgreementState.ENDED,
            reason=f"Its last day was {last}.",
            at=now,
        )
        note_event(by=None, act="agreement_ended", thing=one, now=now)


def _finding(one: ServiceAgreement) -> Finding:
    last = short_day(one.ends_on, True)
    told = short_day(one.ends_on - timedelta(days=one.notice_days), True)
    what = (
        f"goes on after {last} unless told by {told}. Check price and program with the customer."
        if one.renews
        else f"ends {last}. Offer the agreement renewal or say that it ends."
    )
    return Finding(
        AGREEMENT_RENEWAL,
        one.property.branch_id,
        name_of(one),
        f"Agreement renewal at {one.property}: {one.program} {what}",
    )
