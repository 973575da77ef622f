"""Reading the register: what runs out, and what one person holds; a fixed number of queries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse

from accounts.models import (
    ApplicatorLicense,
    ContinuingEducation,
    EducationCycle,
    FirmPaper,
    RespiratorPaper,
    TrainingRecord,
)
from accounts.models.register import COUNTED
from accounts.permissions import Permission, allows
from accounts.rules.education import Credit, Cycle, credit_words, missing
from accounts.rules.register import PaperKind, RegisterLine, soonest
from accounts.rules.register_entries import register_kind
from accounts.rules.training import Training
from accounts.selectors.people import branches_for, people_for

if TYPE_CHECKING:
    from accounts.models import Person

People = Mapping[int, "Person"]
TABLES: dict[str, Any] = {
    "training": TrainingRecord,
    "education": ContinuingEducation,
    "cycle": EducationCycle,
    "firm": FirmPaper,
}


def trainings_of(person_id: int) -> tuple[Training, ...]:
    """The trainings of a person that count, as the rules take them."""
    rows = TrainingRecord.objects.filter(COUNTED, person_id=person_id)
    return tuple(training_of(row) for row in rows)


def training_of(row: TrainingRecord) -> Training:
    """One row as the rules take it."""
    return Training(row.met_on, row.valid_until)


def cycle_of(row: EducationCycle) -> Cycle:
    """One row as the rules take it."""
    return Cycle(row.category, row.starts_on, row.ends_on, row.credits_needed)


def credit_of(row: ContinuingEducation) -> Credit:
    """One row as the rules take it."""
    return Credit(row.category, row.credits, row.taken_on)


def paper_for(asking: Person | None, table: str, pk: int) -> Any:
    """One entry that counts, of a person or branch of the asking person's; otherwise Http404."""
    if table not in TABLES:
        raise Http404("No such table.")
    rows = TABLES[table].objects.filter(COUNTED, pk=pk)
    if table == "firm":
        return get_object_or_404(rows.filter(branch__in=branches_for(asking)))
    return get_object_or_404(rows.select_related("person").filter(person__in=people_for(asking)))


def register_lines(asking: Person | None, today: date) -> list[RegisterLine]:
    """What runs out of people at work and branches whom the person may see, soonest first."""
    people = {one.pk: one for one in people_for(asking).filter(is_active=True)}
    lines = [
        *_licenses(people),
        *_trainings(people, today),
        *_education(people, today),
        *_respirators(people),
    ]
    if asking is None or allows(asking, Permission.SEE_PEOPLE):
        lines += _firm_papers(asking)
    return soonest(lines)


def own_lines(person: Person, today: date) -> list[RegisterLine]:
    """What runs out of somebody's own papers, soonest first."""
    return [one for one in register_lines(person, today) if one.person_id == person.pk]


def _of_person(
    person: Person,
    kind: PaperKind,
    thing: str,
    what: str,
    until: date,
    *,
    short: str = "",
    detail: str = "",
) -> RegisterLine:
    return RegisterLine(
        kind=kind,
        thing=thing,
        branch_id=person.branch_id,
        branch=person.branch.name,
        holder=person.full_name,
        what=what,
        until=until,
        person_id=person.pk,
        short=short,
        detail=detail,
        url=person.get_absolute_url(),
        act_url=_renewed_at(kind, person.pk),
    )


def _renewed_at(kind: PaperKind, person_id: int) -> str:
    match kind:
        case PaperKind.LICENSE:
            return reverse("license_add", args=[person_id])
        case PaperKind.RESPIRATOR:
            return reverse("respirator_add", args=[person_id])
    return reverse("paper_add", args=[person_id, kind.value])


def _thing(row: Any) -> str:
    return f"{row._meta.label_lower}:{row.pk}"


def _licenses(people: People) -> list[RegisterLine]:
    """The last license of each person in each state."""
    rows = ApplicatorLicense.objects.filter(person__in=people).select_related("supervisor")
    last = {(row.person_id, row.state): row for row in rows.order_by("expires_on", "pk")}
    return [
        _of_person(
            people[row.person_id],
            PaperKind.LICENSE,
            _thing(row),
            f"License {row}, {row.get_kind_display().lower()}",
            row.expires_on,
            detail=_on_license(row),
        )
        for row in last.values()
    ]


def _on_license(row: ApplicatorLicense) -> str:
    """Its categories, and who is in charge of who is not certified."""
    parts = [f"categories {row.categories}" if row.categories else ""]
    if row.kind != ApplicatorLicense.Kind.CERTIFIED:
        parts.append(f"under {row.supervisor.full_name}" if row.supervisor else "nobody in charge")
    return "; ".join(part for part in parts if part)


def _trainings(people: People, today: date) -> list[RegisterLine]:
    """The training that holds longest, of people without a certificate in force."""
    certified = set(
        ApplicatorLicense.objects.in_force(today)
        .filter(kind=ApplicatorLicense.Kind.CERTIFIED, person__in=people)
        .values_list("person_id", flat=True)
    )
    rows = TrainingRecord.objects.filter(COUNTED, person__in=people).order_by("met_on", "pk")
    last: dict[int, TrainingRecord] = {}
    for row in rows:
        known = last.get(row.person_id)
        if known is None or training_of(known).ends_on <= training_of(row).ends_on:
            last[row.person_id] = row
    return [
        _of_person(
            people[row.person_id],
            PaperKind.TRAINING,
            _thing(row),
            f"Training {row.title}",
            training_of(row).ends_on,
        )
        for row in last.values()
        if row.person_id not in certified
    ]


def _education(people: People, today: date) -> list[RegisterLine]:
    """The cycles that run, or ran last, and still want credits."""
    begun = EducationCycle.objects.filter(COUNTED, person__in=people, starts_on__lte=today)
    last = {
        (row.person_id, row.state, row.category.casefold()): row
        for row in begun.order_by("ends_on", "pk")
    }
    credits = _credits(last.values())
    lines = []
    for row in last.values():
        short = missing(cycle_of(row), credits.get((row.person_id, row.state), ()))
        if short:
            lines.append(_cycle_line(people[row.person_id], row, short))
    return lines


def _credits(cycles: Iterable[EducationCycle]) -> dict[tuple[int, str], list[Credit]]:
    found: dict[tuple[int, str], list[Credit]] = {}
    people = {row.person_id for row in cycles}
    for row in ContinuingEducation.objects.filter(COUNTED, person__in=people):
        found.setdefault((row.person_id, row.state), []).append(credit_of(row))
    return found


def _cycle_line(person: Person, row: EducationCycle, short: Decimal) -> RegisterLine:
    category = f"category {row.category}" if row.category else "every category"
    return _of_person(
        person,
        PaperKind.EDUCATION,
        _thing(row),
        f"Education cycle {row.state}, {category}",
        row.ends_on,
        short=f"{credit_words(short)} of {credit_words(row.credits_needed)} missing",
    )


def _respirators(people: People) -> list[RegisterLine]:
    """The newest papers of each kind, by the day that comes first."""
    cleared: dict[int, date] = {}
    newest: dict[tuple[int, str], RespiratorPaper] = {}
    for row in RespiratorPaper.objects.current().filter(person__in=people).order_by("-pk"):
        cleared.setdefault(row.person_id, row.medical_until)
        newest.setdefault((row.person_id, row.kind), row)
    return [
        _respirator_line(people[row.person_id], row, cleared[row.person_id])
        for row in newest.values()
    ]


def _respirator_line(person: Person, row: RespiratorPaper, cleared: date) -> RegisterLine:
    days = [(cleared, "Medical clearance"), (row.fit_test_until, "Fit test")]
    if row.cartridge_until:
        days.append((row.cartridge_until, "Cartridge"))
    until, what = min(days, key=lambda one: one[0])
    words = f"{what} of {row.respirator}"
    return _of_person(person, PaperKind.RESPIRATOR, _thing(row), words, until)


def _firm_papers(asking: Person | None) -> list[RegisterLine]:
    """The papers of the branches that no counted paper renews."""
    rows = FirmPaper.objects.filter(COUNTED, branch__in=branches_for(asking))
    renewed = FirmPaper.objects.filter(COUNTED).exclude(renews=None).values("renews")
    return [_firm_line(row) for row in rows.exclude(pk__in=renewed).select_related("branch")]


def firm_papers_at(branch_id: int, today: date) -> list[FirmPaper]:
    """The business licenses and insurances of a branch that are in force."""
    rows = FirmPaper.objects.filter(COUNTED, branch_id=branch_id)
    rows = rows.filter(starts_on__lte=today, ends_on__gte=today)
    return list(rows.order_by("kind", "ends_on", "pk"))


def _firm_line(row: FirmPaper) -> RegisterLine:
    return RegisterLine(
        kind=register_kind(row.kind),
        thing=_thing(row),
        branch_id=row.branch_id,
        branch=row.branch.name,
        holder=row.branch.name,
        what=str(row),
        until=row.ends_on,
        url=row.get_absolute_url(),
        act_url=reverse("firm_paper_renew", args=[row.pk]),
    )
