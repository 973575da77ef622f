"""The demonstration firm gives its customers copies."""

from __future__ import annotations

from datetime import datetime

from accounts.rules.notices import Way
from accounts.selectors.customers import contacts_of
from scheduling.models import VisitApplication
from scheduling.selectors.copies import LEFT
from scheduling.services.copies import give_copy
from scheduling.services.demo.firm import Firm


def give_some(*, firm: Firm, now: datetime) -> tuple[str, ...]:
    """Queue one copy by e-mail, hand one over, leave one at a property."""
    made = VisitApplication.objects.filter(record__finished_at__lt=now).order_by("-record_id")
    rows = made.select_related("record__property", "visit__technician")
    by_visit = {one.visit_id: one for one in rows}
    said: list[str] = []
    for one, way in zip(by_visit.values(), (Way.EMAIL, Way.PAPER, Way.PAPER), strict=False):
        known = contacts_of(one.record.property.customer_id)
        contact = next((who for who in known if who.email and who.wants_notices), None)
        to = str(contact.pk) if contact and len(said) < 2 else LEFT
        way = way if contact else Way.PAPER
        by = one.visit.technician
        notice = give_copy(record_id=one.record_id, to=to, way=way, by=by, now=now)
        said.append(f"Copy {notice.pk} of record {one.record_id}: {notice.get_way_display()}.")
    return tuple(said)
