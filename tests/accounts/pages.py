"""How the tests of this floor ask for a page and read it."""

from __future__ import annotations

import html
import re
from typing import Any

from django.http import HttpResponse
from django.urls import reverse

from accounts.models import Person
from tests.factories import client_for


def ask(person: Person | None, name: str, /, *args: Any, **query: Any) -> HttpResponse:
    """What somebody gets at an address."""
    return client_for(person).get(reverse(name, args=args), query)


def send(person: Person | None, name: str, /, *args: Any, **fields: Any) -> HttpResponse:
    """What somebody gets who posts fields to an address."""
    return client_for(person).post(reverse(name, args=args), fields)


def words(response: HttpResponse) -> str:
    """The text of a page on one line, without its markup."""
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return " ".join(html.unescape(text).replace("\xa0", " ").split())


def errors(response: HttpResponse) -> dict[str, list[str]]:
    """The sentences beside the fields of a form that was not saved."""
    assert response.status_code == 422, response.status_code
    return {name: list(found) for name, found in response.context["form"].errors.items()}


def typed(response: HttpResponse, field: str) -> Any:
    """What the field of the page shows."""
    return response.context["form"][field].value()


def codes(people: list[Person | None], name: str, *args: Any) -> list[int]:
    """The answers that several people get at an address."""
    return [ask(person, name, *args).status_code for person in people]
