"""The pages of people: who sees them, what they show, what they refuse."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.core import mail
from django.urls import reverse

from accounts.models import Branch, Person
from accounts.permissions import Role
from tests.accounts.pages import ask, codes, errors, send, typed, words
from tests.factories import client_for, make_license, make_person

pytestmark = pytest.mark.django_db
NEW = {"full_name": "Nora Newcomb", "email": "nora@firm.example", "phone": "614 555 0177"}


@pytest.fixture
def nora(branch_ohio: Branch) -> dict[str, object]:
    """What the office types about somebody new."""
    return {**NEW, "branch": branch_ohio.pk}


@pytest.mark.parametrize("name", ["people", "person_invite"])
def test_the_list_and_the_invitation_are_the_offices(
    name: str, manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    assert codes([manager, office, technician, stranger, None], name) == [200, 200, 403, 403, 302]


@pytest.mark.parametrize(
    "name", ["person", "person_edit", "person_deactivate", "person_reactivate", "license_add"]
)
def test_a_persons_pages_are_the_offices(
    name: str, manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    asking = [manager, office, technician, stranger, None]
    assert codes(asking, name, technician.pk) == [200, 200, 403, 403, 302]


def test_roles_are_the_managers(
    manager: Person, office: Person, technician: Person, stranger: Person
) -> None:
    asking = [manager, office, technician, stranger]
    assert codes(asking, "person_roles", technician.pk) == [200, 403, 403, 403]
    assert send(office, "person_roles", office.pk, roles="manager").status_code == 403
    assert Person.objects.get(pk=office.pk).roles == {Role.OFFICE}


def test_another_branchs_people_are_not_there_for_the_office(
    manager: Person, office: Person, branch_penn: Branch
) -> None:
    far = make_person([Role.TECHNICIAN], branch_penn, "Perry Penn")
    for name in ("person", "person_edit", "person_deactivate", "license_add"):
        assert codes([manager, office], name, far.pk) == [200, 404]
    assert "Perry Penn" not in words(ask(office, "people"))
    assert "Perry Penn" in words(ask(manager, "people"))


def test_the_list_shows_who_works_here_with_role_and_address(
    office: Person, technician: Person
) -> None:
    text = words(ask(office, "people"))
    assert "Terry Technician" in text
    assert "Olive Office" in text
    gone = make_person([], technician.branch, "Gloria Gone", is_active=False)
    assert gone.full_name not in words(ask(office, "people"))
    assert gone.full_name in words(ask(office, "people", show="left"))
    assert "Terry Technician" not in words(ask(office, "people", show="left"))


def test_a_filter_that_is_none_shows_the_people_at_work(office: Person) -> None:
    response = ask(office, "people", show="nonsense", branch="x", page="zero")
    assert response.status_code == 200
    assert "Olive Office" in words(response)


def test_the_list_asks_the_same_questions_for_3_and_for_30_people(
    office: Person, count_of: Callable[[Person, str], int]
) -> None:
    few = count_of(office, reverse("people"))
    for number in range(27):
        person = make_person([Role.TECHNICIAN, Role.OFFICE], office.branch, f"Ann Row{number}")
        make_license(person)
        make_license(person, "PA")
    assert count_of(office, reverse("people")) == few


def test_the_page_of_a_person_asks_the_same_for_1_and_10_licenses(
    office: Person, technician: Person, count_of: Callable[[Person, str], int]
) -> None:
    url = reverse("person", args=[technician.pk])
    few = count_of(office, url)
    for _ in range(9):
        make_license(technician, supervisor=office)
    assert count_of(office, url) == few


def test_a_long_list_comes_in_pages_of_50(office: Person) -> None:
    for number in range(60):
        make_person([Role.TECHNICIAN], office.branch, f"Ann Row{number:02d}")
    first, second = (words(ask(office, "people", page=page)) for page in (1, 2))
    assert ("Ann Row00" in first, "Ann Row59" in first) == (True, False)
    assert ("Ann Row00" in second, "Ann Row59" in second) == (False, True)


def test_the_page_of_a_person_leads_on(manager: Person, technician: Person) -> None:
    page = ask(manager, "person", technician.pk).content.decode()
    for name in ("shifts", "person_edit", "person_roles", "license_add", "person_deactivate"):
        assert reverse(name, args=[technician.pk]) in page, name
    assert technician.email in page


def test_the_office_sees_no_link_that_it_may_not_follow(office: Person, technician: Person) -> None:
    page = ask(office, "person", technician.pk).content.decode()
    assert reverse("person_roles", args=[technician.pk]) not in page
    assert reverse("person_edit", args=[technician.pk]) in page


def test_letting_go_is_offered_only_where_it_would_be_done(
    manager: Person, office: Person, technician: Person
) -> None:
    def offers(asking: Person, person: Person) -> bool:
        page = ask(asking, "person", person.pk).content.decode()
        return reverse("person_deactivate", args=[person.pk]) in page

    assert offers(office, technician)
    assert offers(manager, office)
    assert not offers(office, manager)
    assert not offers(office, office)


def test_a_manager_invites_somebody_with_roles(manager: Person, nora: dict[str, object]) -> None:
    response = send(manager, "person_invite", **nora, roles=["technician", "office"])
    person = Person.objects.get(email="nora@firm.example")
    assert response.status_code == 200
    assert person.roles == {Role.TECHNICIAN, Role.OFFICE}
    assert person.phone == "+16145550177"
    (sent,) = mail.outbox
    link = next(line for line in sent.body.splitlines() if "/invitation/" in line)
    assert link in response.content.decode()


def test_the_office_invites_but_gives_no_roles(office: Person, nora: dict[str, object]) -> None:
    assert "roles" not in ask(office, "person_invite").context["form"].fields
    send(office, "person_invite", **nora, roles=["manager"])
    assert Person.objects.get(email="nora@firm.example").roles == frozenset()


def test_the_office_does_not_invite_into_another_branch(
    office: Person, branch_penn: Branch
) -> None:
    response = send(office, "person_invite", **NEW, branch=branch_penn.pk)
    assert errors(response) == {"branch": ["choose one from this list."]}
    assert not Person.objects.filter(email="nora@firm.example").exists()


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("full_name", "N. Newcomb", "first and last name, without initials"),
        ("email", "terry@firm.example", "is here already"),
        ("email", "TERRY@Firm.example", "is here already"),
        ("email", "nora at firm", "write an address like"),
        ("phone", "call Nora", "is not a telephone number"),
        ("phone", "614 555", "is not a telephone number"),
    ],
)
def test_what_is_typed_wrong_gets_a_sentence_at_its_field_and_all_is_kept(
    manager: Person,
    technician: Person,
    nora: dict[str, object],
    field: str,
    value: str,
    sentence: str,
) -> None:
    entered = nora | {field: value}
    response = send(manager, "person_invite", **entered, roles=["office"])
    found = errors(response)
    assert list(found) == [field]
    assert sentence in " ".join(found[field])
    assert sentence in words(response)
    for name in ("full_name", "email", "phone"):
        assert typed(response, name) == entered[name]
    assert typed(response, "roles") == ["office"]
    assert not Person.objects.filter(full_name="Nora Newcomb").exists()
    assert mail.outbox == []


def test_a_person_is_changed(office: Person, technician: Person) -> None:
    entered = {
        "full_name": "Terry Tester",
        "email": technician.email,
        "phone": "(614) 555-0123",
        "branch": technician.branch_id,
    }
    response = send(office, "person_edit", technician.pk, **entered)
    assert response.headers["Location"] == technician.get_absolute_url()
    technician.refresh_from_db()
    assert (technician.full_name, technician.phone) == ("Terry Tester", "+16145550123")


def test_the_office_does_not_take_over_a_mailbox(office: Person, manager: Person) -> None:
    entered = {"full_name": "Morgan Manager", "email": office.email, "branch": manager.branch_id}
    response = send(office, "person_edit", manager.pk, **(entered | {"email": "mine@firm.example"}))
    assert response.status_code == 403
    manager.refresh_from_db()
    assert manager.email == "manager@firm.example"


def test_roles_are_set_as_ticked(manager: Person, technician: Person) -> None:
    response = send(manager, "person_roles", technician.pk, roles=["office"])
    assert response.headers["Location"] == technician.get_absolute_url()
    assert Person.objects.get(pk=technician.pk).roles == {Role.OFFICE}


def test_an_unknown_role_is_refused(manager: Person, technician: Person) -> None:
    assert "roles" in errors(send(manager, "person_roles", technician.pk, roles=["owner"]))
    assert Person.objects.get(pk=technician.pk).roles == {Role.TECHNICIAN}


def test_the_last_manager_keeps_the_role_and_reads_why(manager: Person) -> None:
    response = send(manager, "person_roles", manager.pk, roles=["office"])
    (sentence,) = errors(response)["roles"]
    assert sentence == "Morgan Manager is the last manager. Make somebody else a manager first."
    assert Person.objects.get(pk=manager.pk).roles == {Role.MANAGER}


def test_nobody_lets_themselves_go(manager: Person) -> None:
    response = send(manager, "person_deactivate", manager.pk)
    assert "You cannot let yourself go" in words(response)
    assert response.status_code == 422
    manager.refresh_from_db()
    assert manager.is_active


def test_who_is_let_go_is_signed_out_at_the_next_request(
    office: Person, technician: Person
) -> None:
    theirs = client_for(technician)
    assert theirs.get(reverse("today")).status_code == 200
    assert send(office, "person_deactivate", technician.pk).status_code == 302
    answer = theirs.get(reverse("today"))
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith(reverse("account_login"))
    text = words(ask(office, "person", technician.pk))
    assert "Terry Technician" in text
    page = ask(office, "person", technician.pk).content.decode()
    assert reverse("person_deactivate", args=[technician.pk]) not in page


def test_a_manager_brings_somebody_back_with_a_new_link(
    manager: Person, office: Person, technician: Person
) -> None:
    send(manager, "person_deactivate", technician.pk)
    assert send(office, "person_reactivate", technician.pk).status_code == 403
    response = send(manager, "person_reactivate", technician.pk)
    technician.refresh_from_db()
    assert technician.is_active
    assert "/invitation/" in response.content.decode()
    assert not technician.has_usable_password()


def test_a_link_is_made_again_only_before_the_first_password(
    manager: Person, nora: dict[str, object], technician: Person
) -> None:
    send(manager, "person_invite", **nora)
    new = Person.objects.get(email="nora@firm.example")
    assert "/invitation/" in send(manager, "person_invite_again", new.pk).content.decode()
    refused = send(manager, "person_invite_again", technician.pk)
    assert "has set a password" in words(refused)
    assert refused.status_code == 422
