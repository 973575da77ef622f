"""Writing people where no page stands before it: the last manager, the trail, two at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest
from allauth.account.models import EmailAddress
from django.db import connection
from django.http import Http404

from accounts.models import AuditEvent, Branch, Person
from accounts.permissions import Role
from accounts.refusals import Refused
from accounts.services.people import (
    deactivate_person,
    edit_person,
    invite_person,
    reactivate_person,
    set_roles,
)
from tests.factories import PASSWORD, make_person

pytestmark = pytest.mark.django_db


def _managers_at_work() -> int:
    people = Person.objects.filter(is_active=True, role_grants__role=Role.MANAGER)
    return int(people.count())


def _invite(by: Person | None, branch: Branch, **more: object) -> Person:
    entered = {"email": "nora@firm.example", "full_name": "Nora Newcomb", "roles": ()} | more
    return invite_person(**entered, branch_id=branch.pk, by=by).person  # type: ignore[arg-type]


def _edit(by: Person, person: Person, email: str) -> Person:
    return edit_person(
        person_id=person.pk,
        full_name=person.full_name,
        email=email,
        phone="",
        branch_id=person.branch_id,
        by=by,
    )


def test_without_a_permission_nothing_is_written(
    technician: Person, stranger: Person, office: Person, branch_ohio: Branch
) -> None:
    acts = (
        lambda: _invite(technician, branch_ohio),
        lambda: _edit(technician, stranger, "x@firm.example"),
        lambda: set_roles(person_id=office.pk, roles={Role.MANAGER}, by=office),
        lambda: deactivate_person(person_id=stranger.pk, by=technician),
        lambda: reactivate_person(person_id=stranger.pk, by=technician),
        lambda: _invite(office, branch_ohio, roles={Role.MANAGER}),
    )
    for act in acts:
        with pytest.raises(Refused) as refused:
            act()
        assert refused.value.code == "not_permitted"
    assert not AuditEvent.objects.exists()


def test_a_password_may_be_given_at_once(branch_ohio: Branch) -> None:
    assert _invite(None, branch_ohio, password=PASSWORD).check_password(PASSWORD)


def test_the_office_does_not_reach_into_another_branch(office: Person, branch_penn: Branch) -> None:
    far = make_person([Role.TECHNICIAN], branch_penn)
    with pytest.raises(Http404):
        _invite(office, branch_penn)
    with pytest.raises(Http404):
        deactivate_person(person_id=far.pk, by=office)
    far.refresh_from_db()
    assert far.is_active


def test_a_second_manager_at_work_lets_the_first_leave_the_role(
    manager: Person, branch_penn: Branch
) -> None:
    second = make_person([Role.MANAGER], branch_penn)
    set_roles(person_id=manager.pk, roles={Role.OFFICE}, by=second)
    assert Person.objects.get(pk=manager.pk).roles == {Role.OFFICE}
    assert _managers_at_work() == 1


def test_a_manager_who_left_does_not_count(manager: Person, branch_ohio: Branch) -> None:
    make_person([Role.MANAGER], branch_ohio, is_active=False)
    with pytest.raises(Refused) as refused:
        set_roles(person_id=manager.pk, roles=(), by=manager)
    assert refused.value.code == "last_manager"


def test_the_last_manager_is_not_let_go_even_by_the_system(manager: Person) -> None:
    with pytest.raises(Refused) as refused:
        deactivate_person(person_id=manager.pk, by=None)
    assert refused.value.code == "last_manager"
    assert _managers_at_work() == 1


def test_the_office_does_not_let_a_manager_go(
    office: Person, manager: Person, branch_ohio: Branch
) -> None:
    make_person([Role.MANAGER], branch_ohio)
    with pytest.raises(Refused) as refused:
        deactivate_person(person_id=manager.pk, by=office)
    assert refused.value.code == "not_permitted"


def test_roles_survive_being_away(manager: Person, technician: Person) -> None:
    deactivate_person(person_id=technician.pk, by=manager)
    assert not Person.objects.get(pk=technician.pk).has_usable_password()
    reactivate_person(person_id=technician.pk, by=manager)
    again = Person.objects.get(pk=technician.pk)
    assert (again.is_active, again.roles) == (True, {Role.TECHNICIAN})
    with pytest.raises(Refused) as refused:
        reactivate_person(person_id=technician.pk, by=manager)
    assert refused.value.code == "active"


def test_an_old_address_opens_nothing_after_a_new_one(manager: Person, technician: Person) -> None:
    EmailAddress.objects.create(user=technician, email=technician.email, verified=True)
    _edit(manager, technician, "new@firm.example")
    assert not EmailAddress.objects.filter(user=technician).exists()


def test_every_act_leaves_its_event(manager: Person, branch_ohio: Branch) -> None:
    person = _invite(manager, branch_ohio, roles={Role.OFFICE})
    _edit(manager, person, "later@firm.example")
    set_roles(person_id=person.pk, roles={Role.TECHNICIAN}, by=manager)
    deactivate_person(person_id=person.pk, by=manager)
    reactivate_person(person_id=person.pk, by=manager)
    events = AuditEvent.objects.order_by("pk")
    assert list(events.values_list("act", flat=True)) == [
        "person_invited",
        "person_edited",
        "roles_set",
        "person_deactivated",
        "person_reactivated",
    ]
    assert {event.person_name for event in events} == {manager.full_name}
    told = events.get(act="roles_set").details
    assert (told["before"], told["after"]) == (["office"], ["technician"])


def _at_once(*acts: object) -> list[str]:
    def run(act: object) -> str:
        try:
            act()  # type: ignore[operator]
        except Refused as refused:
            return refused.code
        finally:
            connection.close()
        return "done"

    with ThreadPoolExecutor(len(acts)) as pool:
        return sorted(pool.map(run, acts))


@pytest.mark.engine
@pytest.mark.django_db(transaction=True)
def test_two_managers_who_let_each_other_go_at_once_leave_one() -> None:
    branch = Branch.objects.create(name="Columbus", state="OH")
    for _ in range(5):
        Person.objects.update(is_active=False)
        one, other = (make_person([Role.MANAGER], branch) for _ in range(2))
        said = _at_once(
            lambda one=one, other=other: deactivate_person(person_id=other.pk, by=one),
            lambda one=one, other=other: deactivate_person(person_id=one.pk, by=other),
        )
        assert said == ["done", "last_manager"]
        assert _managers_at_work() == 1


@pytest.mark.engine
@pytest.mark.django_db(transaction=True)
def test_two_managers_who_step_down_at_once_leave_one() -> None:
    branch = Branch.objects.create(name="Columbus", state="OH")
    one, other = (make_person([Role.MANAGER], branch) for _ in range(2))
    said = _at_once(
        lambda: set_roles(person_id=one.pk, roles=(), by=one),
        lambda: set_roles(person_id=other.pk, roles=(), by=other),
    )
    assert said == ["done", "last_manager"]
    assert _managers_at_work() == 1
