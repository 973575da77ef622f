"""What a guest gets at every address: an inspector one desk, a contact one logbook, no more."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from accounts.models import Branch, InspectorVisit
from scheduling.models import Visit
from tests.architecture.examples import Examples
from tests.architecture.guest_table import CONTACT, GUEST
from tests.architecture.permission_table import TABLE
from tests.architecture.test_permission_table import _taken_back
from tests.factories import make_branch

pytestmark = pytest.mark.django_db


def entered(token: str) -> Client:
    """A browser whose session was opened by a link."""
    client = Client()
    client.raise_request_exception = False
    assert client.post(reverse("inspection_enter", args=[token])).status_code == 302
    return client


@pytest.mark.parametrize("name", sorted(set(TABLE) - {"inspection_enter"}))
def test_an_inspector_gets_what_a_stranger_gets_but_at_the_desk(name: str, own: Examples) -> None:
    row = TABLE[name]
    url = reverse(name, args=[own[thing] for thing in row.takes])
    client = entered(str(own["inspector_token"]))
    for method, expected in (("get", row.get), ("post", row.post)):
        if expected is None:
            continue
        with _taken_back():
            found = getattr(client, method)(url).status_code
        wanted = GUEST[name][0] if name in GUEST else expected[0]
        assert found == wanted, f"{method} {name}"


@pytest.mark.parametrize("name", sorted(GUEST))
def test_of_another_branch_there_is_nothing(name: str, own: Examples) -> None:
    other: Branch = make_branch("Elsewhere")
    InspectorVisit.objects.filter(pk=own["inspector_visit"]).update(
        branch=other, ends_at=timezone.now() + timedelta(hours=1)
    )
    row = TABLE[name]
    url = reverse(name, args=[own[thing] for thing in row.takes])
    client = entered(str(own["inspector_token"]))
    answer = client.get(url) if row.get else client.post(url)
    assert answer.status_code == GUEST[name][1]


def test_a_contact_gets_one_logbook_and_what_a_stranger_gets(own: Examples) -> None:
    Visit.objects.filter(pk=own["visit"]).update(state="done")
    client = Client()
    client.raise_request_exception = False
    enter = reverse("site_logbook_enter", args=[own["contact_token"]])
    assert client.post(enter).status_code == 302
    key = client.cookies["sessionid"].value
    wrong = {}
    for name, row in TABLE.items():
        url = reverse(name, args=[own[thing] for thing in row.takes])
        for method, expected in (("get", row.get), ("post", row.post)):
            if expected is None or name in ("site_logbook_enter", "inspection_enter"):
                continue
            client.cookies["sessionid"] = key
            with _taken_back():
                found = getattr(client, method)(url).status_code
            wanted = CONTACT[name][0] if name in CONTACT else expected[0]
            if name == "site_logbook_tell" and method == "post":
                wanted = 422
            if found != wanted:
                wrong[f"{method} {name}"] = (found, wanted)
    assert wrong == {}


def test_of_another_property_a_contact_gets_nothing(own: Examples, elses: Examples) -> None:
    client = Client()
    client.post(reverse("site_logbook_enter", args=[elses["contact_token"]]))
    for name, (_, another) in CONTACT.items():
        row = TABLE[name]
        if row.takes:
            url = reverse(name, args=[own[thing] for thing in row.takes])
            assert client.post(url).status_code == another, name
