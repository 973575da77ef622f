"""Writing people: inviting, changing, granting roles, letting go."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from allauth.account.models import EmailAddress
from allauth.usersessions.models import UserSession
from django.db import IntegrityError, transaction

from accounts.models import Person, RoleGrant
from accounts.permissions import Permission, Role, require
from accounts.refusals import Refused
from accounts.rules.lines import email_line, line
from accounts.rules.names import full_name_ok
from accounts.rules.phones import to_e164
from accounts.selectors.people import branch_for, other_managers, person_for
from accounts.services.audit import note_event
from accounts.services.invitations import Invitation, invitation_for

if TYPE_CHECKING:
    from accounts.models import Branch

__all__ = [
    "Invitation",
    "deactivate_person",
    "edit_person",
    "invite_person",
    "reactivate_person",
    "set_roles",
]


def invite_person(
    *,
    email: str,
    full_name: str,
    roles: Collection[Role],
    branch_id: int,
    by: Person | None,
    phone: str = "",
    password: str | None = None,
) -> Invitation:
    """Enter a person and make the link by which they set a password.

    The office enters people; roles are given by who may grant them. `password` is set at once
    for a demonstration. Refused: a name that is not two whole words, an e-mail address in use.
    """
    require(by, Permission.EDIT_PEOPLE)
    if roles:
        require(by, Permission.GRANT_ROLES)
    with transaction.atomic():
        person = Person(created_by=by)
        _fill(person, full_name, email, phone, branch_for(by, branch_id))
        person.set_password(password)
        _save(person)
        _grant(person, roles, by)
        note_event(by=by, act="person_invited", thing=person, roles=sorted(roles))
    return invitation_for(person)


def edit_person(
    *, person_id: int, full_name: str, email: str, phone: str, branch_id: int, by: Person | None
) -> Person:
    """Change who somebody is.

    Only who grants roles changes the e-mail address of somebody with roles: whoever reads that
    mailbox can set a password and act as that person. Refused as in `invite_person`.
    """
    require(by, Permission.EDIT_PEOPLE)
    with transaction.atomic():
        person = _locked(by, person_id)
        before = person.email
        _fill(person, full_name, email, phone, branch_for(by, branch_id))
        if person.email != before:
            _leave_address(person, by)
        _save(person)
        note_event(by=by, act="person_edited", thing=person, email_changed=person.email != before)
    return person


def set_roles(*, person_id: int, roles: Collection[Role], by: Person | None) -> Person:
    """Give a person exactly these roles.

    Refused: taking the manager role from the last manager at work, one's own included.
    """
    require(by, Permission.GRANT_ROLES)
    with transaction.atomic():
        person = _locked(by, person_id)
        if Role.MANAGER not in roles:
            _keep_a_manager(person)
        before = sorted(person.roles)
        person.role_grants.exclude(role__in=roles).delete()
        _grant(person, set(roles) - person.roles, by)
        note_event(by=by, act="roles_set", thing=person, before=before, after=sorted(roles))
    return person_for(by, person_id)


def deactivate_person(*, person_id: int, by: Person | None) -> Person:
    """Let a person go: every session ends at once, the records stay theirs.

    The password goes too, and with it each session signed by it and each link that was mailed.
    Refused: oneself, the last manager, and a manager unless a manager asks.
    """
    require(by, Permission.EDIT_PEOPLE)
    with transaction.atomic():
        person = _locked(by, person_id)
        _refuse_leaving(person, by)
        person.is_active = False
        person.set_unusable_password()
        person.save(update_fields=["is_active", "password"])
        for session in UserSession.objects.filter(user=person):
            session.end()
        note_event(by=by, act="person_deactivated", thing=person)
    return person


def reactivate_person(*, person_id: int, by: Person | None) -> Invitation:
    """Bring a person back with the roles they had, and make a new link for a password."""
    require(by, Permission.EDIT_PEOPLE)
    with transaction.atomic():
        person = _locked(by, person_id)
        if person.roles:
            require(by, Permission.GRANT_ROLES)
        if person.is_active:
            raise Refused("active", f"{person.full_name} is active already.")
        person.is_active = True
        person.save(update_fields=["is_active"])
        note_event(by=by, act="person_reactivated", thing=person)
    return invitation_for(person)


def _locked(by: Person | None, person_id: int) -> Person:
    """Lock every manager's grant first: two managers must not remove each other at once."""
    list(RoleGrant.objects.filter(role=Role.MANAGER).select_for_update().order_by("pk"))
    return person_for(by, person_id)


def _fill(person: Person, full_name: str, email: str, phone: str, branch: Branch) -> None:
    person.full_name = line(full_name, field="full_name", label="Name", most=120)
    if not full_name_ok(person.full_name):
        raise Refused(
            "name",
            "A record names people in full: write first and last name, without initials.",
            field="full_name",
        )
    person.email = email_line(email, needed=True)
    person.phone = to_e164(phone)
    person.branch = branch


def _save(person: Person) -> None:
    try:
        with transaction.atomic():
            person.save()
    except IntegrityError as failure:
        raise Refused(
            "email_taken",
            f"Somebody with the address {person.email} is here already. Find them under People.",
            field="email",
        ) from failure


def _leave_address(person: Person, by: Person | None) -> None:
    if person.roles:
        require(by, Permission.GRANT_ROLES)
    EmailAddress.objects.filter(user=person).delete()


def _grant(person: Person, roles: Collection[Role], by: Person | None) -> None:
    RoleGrant.objects.bulk_create(
        RoleGrant(person=person, role=role, created_by=by) for role in sorted(roles)
    )


def _refuse_leaving(person: Person, by: Person | None) -> None:
    if by is not None and by.pk == person.pk:
        raise Refused("yourself", "You cannot let yourself go. Ask another manager.")
    if Role.MANAGER in person.roles:
        require(by, Permission.GRANT_ROLES)
        _keep_a_manager(person)


def _keep_a_manager(person: Person) -> None:
    if Role.MANAGER in person.roles and not other_managers(person).exists():
        raise Refused(
            "last_manager",
            f"{person.full_name} is the last manager. Make somebody else a manager first.",
            field="roles",
        )
