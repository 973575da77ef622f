"""Reading branches, people and their licenses; nobody asking means the system itself."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404

from accounts.models import ApplicatorLicense, Branch, Person, RespiratorPaper, RoleGrant
from accounts.permissions import ROLES, Permission, Role, allows
from accounts.rules.respirators import Papers, RespiratorKind, held

# Who may decide alone is asked first: certified, then registered, then trainee.
_STANDING: dict[str, int] = {
    ApplicatorLicense.Kind.CERTIFIED: 0,
    ApplicatorLicense.Kind.REGISTERED_TECHNICIAN: 1,
}


def branches_for(person: Person | None) -> QuerySet[Branch]:
    """Every branch for who may edit branches and for the system, else the person's own."""
    branches = Branch.objects.all()
    if person is None or allows(person, Permission.EDIT_BRANCHES):
        return branches
    return branches.filter(pk=person.branch_id)


def branch_for(person: Person | None, pk: int) -> Branch:
    """One branch the person works for; otherwise Http404."""
    return get_object_or_404(branches_for(person), pk=pk)


def people_for(person: Person | None) -> QuerySet[Person]:
    """People of the person's branches for who may see people, else only themselves."""
    people: QuerySet[Person] = Person.objects.select_related("branch").prefetch_related(
        "role_grants"
    )
    if person is None:
        return people
    if allows(person, Permission.SEE_PEOPLE):
        return people.filter(branch__in=branches_for(person))
    return people.filter(pk=person.pk)


def person_for(person: Person | None, pk: int) -> Person:
    """One person whom the person asking may see; otherwise Http404."""
    return get_object_or_404(people_for(person), pk=pk)


def technicians_of(branch_id: int | None) -> QuerySet[Person]:
    """The technicians at work in a branch, or in every branch, by name."""
    people: QuerySet[Person] = (
        Person.objects.technicians().select_related("branch").order_by("full_name", "pk")
    )
    return people.filter(branch_id=branch_id) if branch_id else people


def other_managers(person: Person) -> QuerySet[RoleGrant]:
    """Manager roles held by somebody else who is at work."""
    grants = RoleGrant.objects.filter(role=Role.MANAGER, person__is_active=True)
    return grants.exclude(person=person)


def others_who_may(person: Person, permission: Permission) -> QuerySet[Person]:
    """Everybody else at work in the firm whose roles include a permission."""
    roles = [role for role, permissions in ROLES.items() if permission in permissions]
    people: QuerySet[Person] = Person.objects.filter(is_active=True).exclude(pk=person.pk)
    return people.filter(role_grants__role__in=roles).distinct()


def license_in_force(person_id: int, state: str, on: date) -> ApplicatorLicense | None:
    """The license of a person in force in a state on a day, the highest kind first."""
    held = ApplicatorLicense.objects.of_state(state).in_force(on).filter(person_id=person_id)
    rows = held.order_by("-expires_on", "pk")
    return min(rows, key=lambda one: _STANDING.get(one.kind, 2), default=None)


def certified_in_force(state: str, on: date) -> QuerySet[ApplicatorLicense]:
    """Licenses of certified applicators at work, in force in a state on a day, by name."""
    held = ApplicatorLicense.objects.of_state(state).in_force(on).filter(kind="certified")
    at_work = held.filter(person__is_active=True).select_related("person")
    return at_work.order_by("person__full_name", "-expires_on")


def holder_of(number: str, state: str) -> int | None:
    """The key of who holds the license of that number in a state; None when nobody does."""
    rows = ApplicatorLicense.objects.of_state(state).filter(number=number)
    return rows.order_by("-pk").values_list("person", flat=True).first()


def licenses_of(person_id: int) -> QuerySet[ApplicatorLicense]:
    """Every license of a person, the newest of each state first."""
    return ApplicatorLicense.objects.filter(person_id=person_id).select_related("supervisor")


def respirator_papers(person_id: int) -> tuple[Papers, ...]:
    """The respirator papers of a person that count, the newest first."""
    return papers_by_person([person_id]).get(person_id, ())


def papers_by_person(person_ids: Iterable[int]) -> dict[int, tuple[Papers, ...]]:
    """The respirator papers that count of several people, the newest first."""
    found: dict[int, tuple[Papers, ...]] = {}
    rows = RespiratorPaper.objects.current().filter(person_id__in=list(person_ids))
    for row in rows.order_by("-pk"):
        found[row.person_id] = (*found.get(row.person_id, ()), papers_of(row))
    return found


def others_fitted(
    person: Person, branch_id: int, kinds: Sequence[Collection[RespiratorKind]], on: date
) -> tuple[Person, ...]:
    """Other technicians of a branch whose papers hold on a day for one of each set of kinds."""
    crew = list(technicians_of(branch_id).exclude(pk=person.pk))
    papers = papers_by_person(one.pk for one in crew)
    return tuple(
        one for one in crew if all(held(papers.get(one.pk, ()), some, on) for some in kinds)
    )


def papers_of(row: RespiratorPaper) -> Papers:
    """One row as the rules take it."""
    return Papers(
        row.respirator,
        row.medical_until,
        row.fit_test_until,
        row.cartridge_until,
        RespiratorKind(row.kind) if row.kind else None,
    )


def respirator_paper_for(person: Person | None, pk: int) -> RespiratorPaper:
    """One paper that counts, of somebody whom the person asking may see; otherwise Http404."""
    papers = RespiratorPaper.objects.current().select_related("person")
    return get_object_or_404(papers.filter(person__in=people_for(person)), pk=pk)


def every_paper(person_id: int) -> QuerySet[RespiratorPaper]:
    """Every respirator paper of a person, superseded and ended ones too, the newest first."""
    rows = RespiratorPaper.objects.filter(person_id=person_id).order_by("-pk")
    return rows.select_related("superseded_by")


def licenses_between(
    person_ids: Collection[int], since: date, until: date
) -> QuerySet[ApplicatorLicense]:
    """Licenses of several people that were in force on any of these days, by person and state."""
    rows = ApplicatorLicense.objects.filter(person_id__in=person_ids)
    rows = rows.filter(issued_on__lte=until, expires_on__gte=since)
    return rows.select_related("person", "supervisor").order_by("person_id", "state", "issued_on")


def license_for(person: Person | None, pk: int) -> ApplicatorLicense:
    """One license of somebody whom the person asking may see; otherwise Http404."""
    licenses = ApplicatorLicense.objects.select_related("person")
    return get_object_or_404(licenses.filter(person__in=people_for(person)), pk=pk)
