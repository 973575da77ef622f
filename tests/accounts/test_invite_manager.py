"""The command that lets a new firm in."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core import mail
from django.core.management import CommandError, call_command
from django.test import Client

from accounts.models import AuditEvent, Branch, Person
from accounts.permissions import Role

pytestmark = pytest.mark.django_db
WHO = ("--email", "new@firm.example", "--name", "Nora Newcomb")


def _run(*options: str) -> str:
    out = StringIO()
    call_command("invite_manager", *WHO, *options, stdout=out)
    return out.getvalue()


def test_the_first_manager_opens_the_first_branch() -> None:
    said = _run("--state", "OH")
    person = Person.objects.get()
    assert person.email == "new@firm.example"
    assert person.roles == {Role.MANAGER}
    assert person.branch.state == "OH"
    assert not person.has_usable_password()
    assert "Nora Newcomb sets a password here, once:" in said
    assert AuditEvent.objects.filter(act="person_invited").exists()


def test_the_printed_link_opens_and_sets_the_password() -> None:
    url = _run("--state", "OH").splitlines()[-1]
    assert url.startswith("http://127.0.0.1:8000/invitation/")
    page = Client().get(url.removeprefix("http://127.0.0.1:8000"))
    assert page.status_code == 200
    assert "Nora Newcomb" in page.content.decode()


def test_without_any_branch_the_state_is_asked_for() -> None:
    with pytest.raises(CommandError, match="--state"):
        _run()
    assert not Person.objects.exists()


def test_a_refused_person_leaves_no_branch_behind() -> None:
    with pytest.raises(CommandError, match="first and last name"):
        call_command("invite_manager", "--email", "a@b.example", "--name", "N", "--state", "OH")
    assert not Branch.objects.exists()


def test_the_only_branch_is_taken_and_among_several_one_is_named(
    branch_ohio: Branch, branch_penn: Branch
) -> None:
    with pytest.raises(CommandError, match="Columbus, Erie"):
        _run()
    _run("--branch", "Erie")
    assert Person.objects.get().branch == branch_penn
    assert Branch.objects.count() == 2


def test_the_link_is_mailed_when_asked(branch_ohio: Branch) -> None:
    url = _run("--mail").splitlines()[-1]
    (sent,) = mail.outbox
    assert sent.to == ["new@firm.example"]
    assert url in sent.body


def test_somebody_entered_already_is_refused(branch_ohio: Branch) -> None:
    _run()
    with pytest.raises(CommandError, match="is here already"):
        _run()
    assert Person.objects.count() == 1
