"""What the demonstration firm completes and corrects in its records."""

from __future__ import annotations

from datetime import datetime
from uuid import NAMESPACE_OID, uuid5

from scheduling.models import VisitApplication
from scheduling.services.correcting import approve_request, fill_gap_of
from scheduling.services.demo.firm import Firm
from treatments.services.corrections import ask_correction, ask_void

TECHNICIAN = "technician@demo.example"


def correct_some(*, firm: Firm, now: datetime) -> tuple[str, ...]:
    """Fill a gap, correct a record, and leave a correction and a void for the manager."""
    technician = firm.people[TECHNICIAN]
    made = VisitApplication.objects.filter(visit__technician=technician)
    rows = made.filter(record__finished_at__lt=now).order_by("-record_id")
    filled, wrong, asked, twice = rows.values_list("record_id", flat=True)[:4]
    addendum = fill_gap_of(
        record_id=filled,
        facts={"notes": "The side gate was open; the owner closed it."},
        by=technician,
        now=now,
        client_ref=uuid5(NAMESPACE_OID, f"demo addendum {filled}"),
    )
    request = ask_correction(
        record_id=wrong,
        facts={"wind_mph": "6"},
        reason="The meter was read before noon.",
        by=technician,
        now=now,
    )
    (entry,) = approve_request(request_id=request.pk, by=firm.manager, now=now)
    ask_correction(
        record_id=asked,
        facts={"temperature_f": "61"},
        reason="Typed from memory.",
        by=technician,
        now=now,
    )
    ask_void(record_id=twice, reason="Recorded twice on that day.", by=technician, now=now)
    return (
        f"Record {addendum.pk} completes {addendum.corrects_id}; "
        f"{entry.pk} corrects {entry.corrects_id}.",
        "One correction and one void wait for the manager.",
    )
