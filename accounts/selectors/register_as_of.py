"""What was in force on a day: licenses, training, papers of the firm; people who left too."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from accounts.models import ApplicatorLicense, FirmPaper, TrainingRecord
from accounts.models.register import COUNTED
from accounts.reports.register_words import InForce
from accounts.rules.register import PAPER_WORDS, PaperKind
from accounts.rules.register_entries import register_kind
from accounts.rules.training import Training
from accounts.selectors.people import branches_for, people_for
from accounts.selectors.register import training_of

if TYPE_CHECKING:
    from accounts.models import Person


def in_force_on(asking: Person, on: date) -> list[InForce]:
    """Every paper in force on a day, by kind and holder, as the register knows it now."""
    return [*_licenses(asking, on), *_trainings(asking, on), *_firm_papers(asking, on)]


def _licenses(asking: Person, on: date) -> list[InForce]:
    rows = ApplicatorLicense.objects.in_force(on).filter(person__in=people_for(asking))
    rows = rows.select_related("person__branch", "supervisor")
    return [
        InForce(
            kind=PAPER_WORDS[PaperKind.LICENSE],
            holder=row.person.full_name,
            branch=row.person.branch.name,
            paper=row.get_kind_display(),
            number=row.number,
            state=row.state,
            categories=row.categories,
            begins=row.issued_on,
            ends=row.expires_on,
            answers=row.supervisor.full_name if row.supervisor else "",
        )
        for row in rows.order_by("person__full_name", "state", "pk")
    ]


def _trainings(asking: Person, on: date) -> list[InForce]:
    rows = TrainingRecord.objects.filter(COUNTED, person__in=people_for(asking), met_on__lte=on)
    rows = rows.select_related("person__branch").order_by("person__full_name", "met_on", "pk")
    return [_training(row) for row in rows if on <= training_of(row).ends_on]


@dataclass(frozen=True)
class Trained:
    """One training record of a person that counts, with who trained."""

    person_id: int
    name: str
    title: str
    training: Training
    is_signed: bool
    trainer: str


def trainings_until(person_ids: Iterable[int], last: date) -> list[Trained]:
    """The training records that count of these people met by a day; people who left too."""
    rows = TrainingRecord.objects.filter(COUNTED, person__in=list(person_ids), met_on__lte=last)
    rows = rows.select_related("person").order_by("person__full_name", "-met_on", "-pk")
    return [
        Trained(
            person_id=row.person_id,
            name=row.person.full_name,
            title=row.title,
            training=training_of(row),
            is_signed=row.signed_on is not None,
            trainer=f"{row.trainer}, {row.trainer_qualification}",
        )
        for row in rows
    ]


def _training(row: TrainingRecord) -> InForce:
    signed = "" if row.signed_on else ", not signed"
    return InForce(
        kind=PAPER_WORDS[PaperKind.TRAINING],
        holder=row.person.full_name,
        branch=row.person.branch.name,
        paper=f"{row.title}{signed}",
        number="",
        state="",
        categories="",
        begins=row.met_on,
        ends=training_of(row).ends_on,
        answers=f"{row.trainer}, {row.trainer_qualification}",
    )


def _firm_papers(asking: Person, on: date) -> list[InForce]:
    rows = FirmPaper.objects.filter(COUNTED, branch__in=branches_for(asking))
    rows = rows.filter(starts_on__lte=on, ends_on__gte=on).select_related("branch")
    return [_firm_paper(row) for row in rows.order_by("branch__name", "kind", "pk")]


def _firm_paper(row: FirmPaper) -> InForce:
    insured = f", ${row.insured_dollars:,}" if row.insured_dollars else ""
    return InForce(
        kind=PAPER_WORDS[register_kind(row.kind)],
        holder=row.branch.name,
        branch=row.branch.name,
        paper=f"{row.get_kind_display()}{insured}",
        number=row.number,
        state=row.branch.state,
        categories="",
        begins=row.starts_on,
        ends=row.ends_on,
        answers=row.issuer,
    )
