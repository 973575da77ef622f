"""The demonstration firm writes to its customers, talks to one, and makes a calendar address."""

from __future__ import annotations

from datetime import datetime

from accounts.services.contact_log import note_contact
from scheduling.models import Renewal
from scheduling.models.renewals import WAITING_STATES
from scheduling.services.demo.firm import Firm
from scheduling.services.visit_notices import keep_visit_notices


def write_some(*, firm: Firm, now: datetime) -> tuple[str, ...]:
    """Queue what is due by now, and note one call that nobody answered."""
    made = keep_visit_notices(now=now)
    waiting = Renewal.objects.filter(
        state__in=WAITING_STATES, property__branch=firm.office.branch_id
    ).select_related("property")
    renewal = waiting.order_by("lapses_on", "pk").first()
    if renewal is not None:
        customer = renewal.property.customer_id
        note_contact(
            customer_id=customer, way="call", outcome="no_answer", said="The machine is full.",
            by=firm.office, now=now,
        )  # fmt: skip
    return (f"Letters about visits and tasks: {made}.",)
