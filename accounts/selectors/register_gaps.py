"""What the register lacks, person by person and branch by branch; a fixed number of queries."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from django.urls import reverse

from accounts.models import ApplicatorLicense, FirmPaper, TrainingRecord
from accounts.models.register import COUNTED
from accounts.permissions import Role
from accounts.rules.register_entries import FirmPaperKind
from accounts.rules.register_gaps import HeldLicense, branch_gaps, person_gaps
from accounts.rules.training import Training, qualified
from accounts.selectors.people import branches_for, people_for
from accounts.selectors.register import training_of

if TYPE_CHECKING:
    from accounts.models import Person

CERTIFIED = ApplicatorLicense.Kind.CERTIFIED


@dataclass(frozen=True)
class Gap:
    """What somebody or a branch lacks, and where it is entered."""

    holder: str
    branch: str
    url: str
    sentences: tuple[str, ...]


def register_gaps(asking: Person, today: date) -> list[Gap]:
    """What the technicians and branches of a person lack on a day, by name."""
    found = [*_of_people(asking, today), *_of_branches(asking, today)]
    return [one for one in found if one.sentences]


def _of_people(asking: Person, today: date) -> list[Gap]:
    crew = people_for(asking).filter(is_active=True, role_grants__role=Role.TECHNICIAN)
    people = list(crew.order_by("full_name", "pk"))
    keys = [one.pk for one in people]
    licenses, trainings = _licenses(keys, today), _trainings(keys)
    return [
        Gap(
            one.full_name,
            one.branch.name,
            one.get_absolute_url(),
            person_gaps(licenses[one.pk], qualified(trainings[one.pk], today)),
        )
        for one in people
    ]


def _licenses(keys: Collection[int], today: date) -> dict[int, list[HeldLicense]]:
    rows = ApplicatorLicense.objects.in_force(today).select_related("supervisor")
    certified = set(rows.filter(kind=CERTIFIED).values_list("person_id", "state"))
    found: dict[int, list[HeldLicense]] = defaultdict(list)
    for row in rows.filter(person__in=keys):
        found[row.person_id].append(
            HeldLicense(
                state=row.state,
                kind=row.get_kind_display(),
                is_certified=row.kind == CERTIFIED,
                in_charge=row.supervisor.full_name if row.supervisor else "",
                is_backed=(row.supervisor_id, row.state) in certified,
            )
        )
    return found


def _trainings(keys: Collection[int]) -> dict[int, list[Training]]:
    found: dict[int, list[Training]] = defaultdict(list)
    for row in TrainingRecord.objects.filter(COUNTED, person__in=keys):
        found[row.person_id].append(training_of(row))
    return found


def _of_branches(asking: Person, today: date) -> list[Gap]:
    papers = FirmPaper.objects.filter(COUNTED, starts_on__lte=today, ends_on__gte=today)
    held = set(papers.values_list("branch_id", "kind"))
    return [
        Gap(
            one.name,
            one.name,
            reverse("firm_papers"),
            branch_gaps(
                (one.pk, FirmPaperKind.BUSINESS_LICENSE) in held,
                (one.pk, FirmPaperKind.LIABILITY) in held,
            ),
        )
        for one in branches_for(asking)
    ]
