"""Kept inspection reports on their way to a customer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from accounts.rules.day_words import short_day
from accounts.rules.phones import readable
from accounts.selectors.customers import contacts_of
from accounts.selectors.notices import NoticeRow, notices_about
from sites.selectors.exclusion import customer_tasks_of
from sites.selectors.inspections import findings_of
from treatments.rules.desk import counted

if TYPE_CHECKING:
    from accounts.models import Contact
    from sites.models import InspectionReport, Property


def about_report(report: InspectionReport) -> str:
    """A report by table and key, as notices name it."""
    return f"{report._meta.label_lower}:{report.pk}"


@dataclass(frozen=True)
class SentReports:
    """Who wants a report, who of them has not got it, and what is known of those sent."""

    wanting: tuple[Contact, ...]
    waiting: tuple[Contact, ...]
    rows: tuple[NoticeRow, ...]

    @property
    def names(self) -> str:
        return ", ".join(one.name for one in self.waiting)


def sent_reports(report: InspectionReport, place: Property) -> SentReports:
    """What became of a report that the caller may show."""
    rows = tuple(notices_about([about_report(report)]))
    there = {row.notice.to_email for row in rows}
    known = contacts_of(place.customer_id)
    wanting = tuple(one for one in known if one.email and one.wants_notices)
    waiting = tuple(one for one in wanting if one.email not in there)
    return SentReports(wanting, waiting, rows)


def report_values(report: InspectionReport) -> dict[str, str]:
    """What fills the placeholders of the message that carries a report."""
    place, branch = report.inspection.property, report.inspection.property.branch
    day = report.inspection.begun_at.astimezone(ZoneInfo(branch.time_zone)).date()
    found = len(findings_of(report.inspection_id))
    return {
        "customer": place.customer.name,
        "property": f"{place.street}, {place.city}",
        "day": short_day(day, True),
        "found": counted(found, "finding") if found else "nothing found",
        "asked": counted(len(customer_tasks_of(place.pk)), "task"),
        "firm": branch.name,
        "firm_phone": readable(branch.phone) if branch.phone else "",
        "after_hours": readable(branch.after_hours_phone) if branch.after_hours_phone else "",
    }
