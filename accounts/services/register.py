"""Writing the register: entered, corrected, voided, renewed; a row never changes."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

from django.db import transaction

from accounts.models import ContinuingEducation, EducationCycle, FirmPaper, TrainingRecord
from accounts.models.register import COUNTED, Paper
from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.rules.lines import line
from accounts.rules.register_entries import (
    CreditEntry,
    CycleEntry,
    Entry,
    FirmPaperEntry,
    TrainingEntry,
)
from accounts.selectors.pages import local_day
from accounts.selectors.people import branch_for, person_for
from accounts.selectors.register import paper_for
from accounts.services.audit import note_event

if TYPE_CHECKING:
    from accounts.models import Person

Row = TypeVar("Row", bound=Paper)


@transaction.atomic
def add_training(
    *, person_id: int, entry: TrainingEntry, by: Person | None, now: datetime
) -> TrainingRecord:
    """Enter what qualified a person; refused as `TrainingEntry.checked` says."""
    require(by, Permission.EDIT_LICENSES)
    person = person_for(by, person_id)
    row = TrainingRecord(person=person, **_checked(entry, person.branch.time_zone, now))
    return _added(row, by, now)


@transaction.atomic
def add_credits(
    *, person_id: int, entry: CreditEntry, by: Person | None, now: datetime
) -> ContinuingEducation:
    """Enter credits of a course.

    Refused as `CreditEntry.checked` says, and a certificate entered before for that category.
    """
    require(by, Permission.EDIT_LICENSES)
    person = person_for(by, person_id)
    row = ContinuingEducation(person=person, **_checked(entry, person.branch.time_zone, now))
    _refuse_twice(row)
    return _added(row, by, now)


@transaction.atomic
def add_cycle(
    *, person_id: int, entry: CycleEntry, by: Person | None, now: datetime
) -> EducationCycle:
    """Enter what a cycle wants of a person; refused as `CycleEntry.checked` says."""
    require(by, Permission.EDIT_LICENSES)
    person = person_for(by, person_id)
    row = EducationCycle(person=person, **_checked(entry, person.branch.time_zone, now))
    return _added(row, by, now)


@transaction.atomic
def add_firm_paper(
    *, branch_id: int, entry: FirmPaperEntry, by: Person | None, now: datetime
) -> FirmPaper:
    """Enter a business license or insurance; refused as `FirmPaperEntry.checked` says."""
    require(by, Permission.EDIT_LICENSES)
    branch = branch_for(by, branch_id)
    row = FirmPaper(branch=branch, **_checked(entry, branch.time_zone, now))
    return _added(row, by, now)


@transaction.atomic
def renew_firm_paper(
    *, paper_id: int, entry: FirmPaperEntry, by: Person | None, now: datetime
) -> FirmPaper:
    """Enter the paper that follows another one, which keeps its days.

    Refused also when it ends no later than the one it renews, or another one renews that.
    """
    require(by, Permission.EDIT_LICENSES)
    old = _locked(by, "firm", paper_id)
    if FirmPaper.objects.filter(COUNTED, renews=old).exists():
        raise Refused("renewed", "This paper is renewed already. Correct the renewal instead.")
    if entry.ends_on <= old.ends_on:
        sentence = "It ends no later than the paper it renews. Check the last day."
        raise Refused("term", sentence, field="ends_on")
    values = _checked(entry, old.branch.time_zone, now)
    return _added(FirmPaper(branch=old.branch, renews=old, **values), by, now)


@transaction.atomic
def correct_paper(
    *, table: str, paper_id: int, entry: Entry, reason: str, by: Person | None, now: datetime
) -> Any:
    """Put a corrected entry in the place of another one, which stays readable.

    `table` is training, education, cycle or firm. Refused: no reason, as for a new entry, and one
    that somebody has just replaced.
    """
    require(by, Permission.EDIT_LICENSES)
    old = _locked(by, table, paper_id)
    row = _follower(old, reason, by)
    for name, value in _checked(entry, _time_zone(old), now).items():
        setattr(row, name, value)
    if isinstance(row, ContinuingEducation):
        _refuse_twice(row, but=old)
    return _stored(row, "corrected", by, now)


@transaction.atomic
def void_paper(*, table: str, paper_id: int, reason: str, by: Person | None, now: datetime) -> Any:
    """Say that an entry never counted; refused without a reason."""
    require(by, Permission.EDIT_LICENSES)
    row = _follower(_locked(by, table, paper_id), reason, by)
    row.is_void = True
    return _stored(row, "voided", by, now)


def _checked(entry: Entry, time_zone: str, now: datetime) -> dict[str, Any]:
    return asdict(entry.checked(local_day(time_zone, now)))


def _time_zone(row: Any) -> str:
    branch = row.branch if isinstance(row, FirmPaper) else row.person.branch
    return str(branch.time_zone)


def _locked(by: Person | None, table: str, paper_id: int) -> Any:
    """The entry, held until the end; refused when somebody replaced it meanwhile."""
    seen = paper_for(by, table, paper_id)
    row = type(seen).objects.select_for_update(of=("self",)).get(pk=seen.pk)
    if type(seen).objects.filter(COUNTED, pk=row.pk).exists():
        return row
    raise Refused("superseded", "Somebody has just changed this entry. Open the sheet again.")


def _follower(old: Any, reason: str, by: Person | None) -> Any:
    """A new row with the values of another one, in its place."""
    names = [f.attname for f in old._meta.concrete_fields]
    left = {"id", "supersedes_id", "reason", "created_at", "created_by_id"}
    values = {name: getattr(old, name) for name in names if name not in left}
    why = line(reason, field="reason", label="The reason", most=200)
    return type(old)(**values, supersedes=old, reason=why)


def _refuse_twice(row: ContinuingEducation, but: ContinuingEducation | None = None) -> None:
    """One certificate counts once in a category."""
    same = ContinuingEducation.objects.filter(
        COUNTED,
        person_id=row.person_id,
        state=row.state,
        category__iexact=row.category,
        evidence_number__iexact=row.evidence_number,
    )
    others = same.exclude(pk=but.pk) if but else same
    if others.exists():
        sentence = "This certificate is entered for that category already. Look on their sheet."
        raise Refused("entered", sentence, field="evidence_number")


def _added(row: Row, by: Person | None, now: datetime) -> Row:
    _stored(row, "added", by, now)
    return row


def _stored(row: Any, what: str, by: Person | None, now: datetime) -> Any:
    row.created_by, row.created_at = by, now
    row.save(force_insert=True)
    act = f"{row._meta.model_name}_{what}"
    note_event(by=by, act=act, thing=row, now=now, superseded=row.supersedes_id)
    return row
