"""The report of an inspection: made, kept, and e-mailed to who wants notices."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.notices import Attachment, Draft, Kind
from accounts.services.notices import queue
from scheduling.reports.inspection import draw_inspection
from scheduling.selectors.inspection_sheets import inspection_sheet
from scheduling.selectors.property_plans import plan_on_paper
from scheduling.selectors.reach import reachable
from scheduling.selectors.sent_reports import (
    SentReports,
    about_report,
    report_values,
    sent_reports,
)
from sites.rules.exclusion import AskHow
from sites.selectors.inspections import findings_of, report_for
from sites.services.inspections import keep_report
from sites.services.task_asks import note_asks

if TYPE_CHECKING:
    from accounts.models import Contact, Person
    from sites.models import InspectionReport

# house rule: as long as the service stands in the logbook
KEPT_FOR = timedelta(days=730)


def report_inspection(
    *, inspection_id: int, by: Person, today: date, demo: bool
) -> InspectionReport:
    """Draw the report of an ended inspection with the plan there is, and keep it with its digest.

    Refused: a round that is not ended.
    """
    require(by, Permission.INSPECT)
    inspection, sheet = inspection_sheet(by, inspection_id, today, demo=demo)
    plan = plan_on_paper(inspection.property, findings_of(inspection.pk), today)
    content = draw_inspection(sheet, plan=plan)
    return keep_report(inspection=inspection, content=content, by=by)


@transaction.atomic
def send_report(*, report_id: int, by: Person, now: datetime, today: date) -> int:
    """Queue a kept report for every contact with an e-mail address who wants notices; how many.

    Each address gets the same report once; the customer's tasks in it count as asked for. Refused:
    nobody to send it to, everybody has it, a paper no mail server takes; out of reach is Http404.
    """
    require(by, Permission.GIVE_COPIES)
    report = report_for(reachable(by, today), report_id)
    known = sent_reports(report, report.inspection.property)
    _refuse_nobody(known)
    for contact in known.waiting:
        queue(draft=_draft(report, contact, today), by=by, now=now)
    place = report.inspection.property_id
    note_asks(property_id=place, how=AskHow.REPORT, by=by, today=today)
    return len(known.waiting)


def _refuse_nobody(known: SentReports) -> None:
    if not known.wanting:
        sentence = "Nobody of this customer has an e-mail address and wants notices. Print it."
        raise Refused("to", sentence)
    if not known.waiting:
        sentence = "Everybody has this report. The office can send it again from Notices."
        raise Refused("sent", sentence)


def _draft(report: InspectionReport, contact: Contact, today: date) -> Draft:
    place = report.inspection.property
    whom = sha256(contact.email.encode()).hexdigest()[:32]
    name = f"inspection-{report.inspection_id}-{report.pk}.pdf"
    return Draft(
        kind=Kind.INSPECTION,
        branch_id=place.branch_id,
        customer_id=place.customer_id,
        about=about_report(report),
        unique_key=f"{Kind.INSPECTION}:{report.pk}:{whom}",
        to_name=contact.name,
        to_email=contact.email,
        values={**report_values(report), "contact": contact.name},
        attachment=Attachment(name, bytes(report.content)),
        keep_until=today + KEPT_FOR,
    )
