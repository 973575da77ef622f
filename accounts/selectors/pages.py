"""What the pages of the ground floor show, and what every page asks: which day, which part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet

from accounts.permissions import Permission, Role, allows
from accounts.rules.phones import readable
from accounts.rules.respirators import ended, medical_until, newest_of_each
from accounts.selectors.people import (
    branches_for,
    every_paper,
    licenses_of,
    papers_of,
    people_for,
    person_for,
)

if TYPE_CHECKING:
    from accounts.models import ApplicatorLicense, Branch, Person, RespiratorPaper

PAGE_SIZE = 50
SOON_DAYS = 30


@dataclass(frozen=True)
class LicenseRow:
    """A license and whether it holds on a day: `shape` is ok, check or refuse."""

    license: ApplicatorLicense
    word: str
    shape: str


@dataclass(frozen=True)
class PaperRow:
    """Respirator papers that are neither superseded nor ended; `gaps` say why they do not hold.

    `is_newest` when no later paper of the same kind counts in their place.
    """

    paper: RespiratorPaper
    kind: str
    gaps: tuple[str, ...]
    is_newest: bool


@dataclass(frozen=True)
class PersonRow:
    """A person of the list with roles and licenses in words."""

    person: Person
    roles: str
    phone: str
    licenses: Sequence[LicenseRow]


@dataclass(frozen=True)
class PersonPage(PersonRow):
    """Everything the sheet of one person shows, and what the person asking may change."""

    is_invited_only: bool
    may_change: bool
    may_let_go: bool
    may_grant: bool
    is_technician: bool
    papers: Sequence[PaperRow]
    past_papers: Sequence[RespiratorPaper]
    cleared_until: date | None


@dataclass(frozen=True)
class BranchRow:
    """A shop of the list with its numbers as people read them."""

    branch: Branch
    phone: str
    after_hours_phone: str


def local_today(person: Person, now: datetime) -> date:
    """The calendar day at the person's shop."""
    return local_day(person.branch.time_zone, now)


def local_now(person: Person, now: datetime) -> datetime:
    """An instant on the clock of the person's shop."""
    return now.astimezone(ZoneInfo(person.branch.time_zone))


def local_day(time_zone: str, now: datetime) -> date:
    """The calendar day in a time zone."""
    return now.astimezone(ZoneInfo(time_zone)).date()


def frame_of(person: Person) -> str:
    """The frame a person's pages of work stand in: the sheet of the office, or that of a phone."""
    return "base.html" if allows(person, Permission.SEE_CUSTOMERS) else "base_hand.html"


def page_of(rows: Any, number: object) -> Page[Any]:
    """One page of 50 rows; a number that is none, or too high, gives the nearest page."""
    return Paginator(rows, PAGE_SIZE).get_page(str(number or 1))


def branch_choices(person: Person) -> list[tuple[int, str]]:
    """Keys and names of the branches a person works for."""
    return [(one.pk, one.name) for one in branches_for(person)]


def branch_rows(person: Person) -> list[BranchRow]:
    """The shops a person works for, by name."""
    return [
        BranchRow(one, _number(one.phone), _number(one.after_hours_phone))
        for one in branches_for(person)
    ]


def supervisor_choices(person: Person, licensee_id: int) -> list[tuple[int, str]]:
    """People at work who may be in charge of a licensee."""
    others = people_for(person).filter(is_active=True).exclude(pk=licensee_id)
    return [(one.pk, one.full_name) for one in others]


def people_page(
    person: Person, *, show: str, branch_id: int | None, today: date, number: object
) -> tuple[Sequence[PersonRow], Page[Any]]:
    """One page of 50 people by name, in a fixed number of queries.

    `show` is empty for people at work, left, or all.
    """
    people = _chosen(people_for(person), show, branch_id).prefetch_related("licenses")
    page = page_of(people.order_by("full_name", "pk"), number)
    return [_row(one, list(one.licenses.all()), today) for one in page.object_list], page


def person_page(asking: Person, pk: int, today: date) -> PersonPage:
    """The sheet of one person; otherwise Http404."""
    person = person_for(asking, pk)
    row = _row(person, list(licenses_of(pk)), today)
    may_grant = allows(asking, Permission.GRANT_ROLES)
    papers = list(every_paper(pk))
    rows = _paper_rows(papers, today)
    return PersonPage(
        **vars(row),
        is_invited_only=person.is_active and not person.has_usable_password(),
        may_change=may_grant or not person.roles,
        may_let_go=asking.pk != person.pk and (may_grant or Role.MANAGER not in person.roles),
        may_grant=may_grant,
        is_technician=Role.TECHNICIAN in person.roles,
        papers=rows,
        past_papers=[one for one in papers if not one.counts],
        cleared_until=rows[0].paper.medical_until if rows else None,
    )


def _paper_rows(papers: Sequence[RespiratorPaper], today: date) -> list[PaperRow]:
    """The papers that count, the newest first, each judged on a day for its own kind."""
    current = [(row, papers_of(row)) for row in papers if row.counts]
    cleared = medical_until([paper for _, paper in current])
    newest = newest_of_each([paper for _, paper in current])
    return [
        PaperRow(
            row, paper.kind_words, ended(paper, cleared, today), any(paper is one for one in newest)
        )
        for row, paper in current
    ]


def license_row(license: ApplicatorLicense, today: date) -> LicenseRow:
    """A license in words on a day: in force, N days left, expired, or not yet."""
    if license.expires_on < today:
        return LicenseRow(license, "expired", "refuse")
    if license.issued_on > today:
        return LicenseRow(license, "not yet in force", "open")
    left = (license.expires_on - today).days
    if left <= SOON_DAYS:
        return LicenseRow(license, f"{left} d left", "check")
    return LicenseRow(license, "in force", "ok")


def _chosen(people: QuerySet[Person], show: str, branch_id: int | None) -> QuerySet[Person]:
    if show != "all":
        people = people.filter(is_active=show != "left")
    return people.filter(branch_id=branch_id) if branch_id else people


def _row(person: Person, licenses: Sequence[ApplicatorLicense], today: date) -> PersonRow:
    return PersonRow(
        person=person,
        roles=", ".join(sorted(role.value for role in person.roles)).capitalize(),
        phone=_number(person.phone),
        licenses=[license_row(one, today) for one in licenses],
    )


def _number(stored: str) -> str:
    return readable(stored) if stored else ""
