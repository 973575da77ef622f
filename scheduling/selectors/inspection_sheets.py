"""The report of an inspection, gathered in words."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from accounts.refusals import Refused
from accounts.rules.day_words import clock, short_day
from accounts.rules.phones import readable
from scheduling.reports.inspection_words import (
    InspectionSheet,
    SheetFinding,
    SheetPhoto,
    SheetTask,
)
from scheduling.selectors.inspections import RoundPage, round_page
from sites.rules.findings import REFER_WOOD
from sites.rules.gaps import lets_in, lets_in_words
from sites.rules.sealing import stays_open_words
from sites.selectors.photos import pictures_of

if TYPE_CHECKING:
    from accounts.models import Person
    from sites.models import ExclusionTask, Finding, Inspection


def inspection_sheet(
    person: Person, pk: int, today: date, *, demo: bool
) -> tuple[Inspection, InspectionSheet]:
    """An inspection within reach and what its report says.

    Refused: one that is not ended; one out of reach is Http404.
    """
    page = round_page(person, pk, today)
    if page.is_open:
        raise Refused("not_ended", "End the inspection first; then make its report.")
    shown = [
        _finding(number, one, _pictures(one.pk)) for number, one in enumerate(page.findings, 1)
    ]
    return page.inspection, InspectionSheet(
        number=page.inspection.pk,
        customer=page.place.customer.name,
        address=page.place.address,
        inspected=_when(page),
        inspector=page.inspection.created_by.full_name if page.inspection.created_by else "",
        summary=_summary(page),
        not_wood_destroying=page.sentence,
        findings=tuple(shown),
        tasks=tuple(_task(task) for one in page.findings for task in one.tasks.all()),
        clear=tuple(row.point.name for side in page.sides for row in side.rows if row.is_clear),
        not_looked_at=tuple(
            row.point.name for side in page.sides for row in side.rows if not row.is_answered
        ),
        changes=tuple(f"{one.change.value}: {one.seen.words}" for one in page.changes),
        made=short_day(today, True),
        demo=demo,
        **_firm(page),
    )  # fmt: skip


def _firm(page: RoundPage) -> dict[str, str]:
    branch = page.place.branch
    license_number = branch.business_license_number
    lines = [
        f"{branch.street}, {branch.city}, {branch.state} {branch.zip_code}",
        f"Business license {license_number}" if license_number else "",
        f"Telephone {readable(branch.phone)}" if branch.phone else "",
    ]
    return {"firm": branch.name, "firm_lines": ". ".join(line for line in lines if line)}


def _when(page: RoundPage) -> str:
    at = page.inspection.begun_at.astimezone(ZoneInfo(page.place.branch.time_zone))
    return f"{short_day(at.date(), True)}, {clock(at)}"


def _summary(page: RoundPage) -> str:
    if page.inspection.ending.is_nothing_found:
        told = f"Nothing was found at the {page.answered} places looked at."
    else:
        many = "" if len(page.findings) == 1 else "s"
        told = f"{len(page.findings)} finding{many} at {page.answered} places looked at."
    return "\n".join(part for part in (told, page.inspection.ending.words) if part)


def _pictures(finding_id: int) -> tuple[SheetPhoto, ...]:
    return tuple(
        SheetPhoto(bytes(one.content), one.width, one.height) for one in pictures_of(finding_id)
    )


def _finding(number: int, one: Finding, photos: tuple[SheetPhoto, ...]) -> SheetFinding:
    lines = [one.note, stays_open_words(one.opening)]
    if one.gap is not None:
        shape = one.get_gap_shape_display()
        lines.append(f"{shape} {one.gap_text}. {lets_in_words(one.gap)}")
        lines += [f"{each.pest.name}: {each.pest.source}." for each in lets_in(one.gap)]
    if one.pest is not None and one.pest.kind == "refer":
        lines.append(REFER_WOOD)
    if hasattr(one, "closing"):
        lines.append(f"Since then: {one.closing.get_kind_display().lower()}.")
    return SheetFinding(
        number, str(one), one.get_severity_display(), tuple(line for line in lines if line), photos
    )


def _task(task: ExclusionTask) -> SheetTask:
    return SheetTask(
        words=". ".join(part for part in (str(task), task.words, task.advice) if part),
        does=task.get_does_display(),
        due=short_day(task.due_on, True),
        price="" if task.price is None else f"${task.price:,.2f}",
        state=task.ending.get_kind_display() if hasattr(task, "ending") else "Open",
        stays_open=task.stays_open,
    )
