"""A diner in Ohio with a logbook, a contact who has a link, and the browser it opened."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import Person
from accounts.services.contact_links import GivenLink
from sites.models import Property
from sites.services.site_links import give_logbook_link
from tests.factories import (
    make_contact,
    make_customer,
    make_property,
)

NOW = datetime(2026, 11, 25, 20, tzinfo=UTC)
DAY = date(2026, 11, 25)
SEEN = {
    "what": "A <b>mouse</b> & droppings",
    "spot": "Kitchen, under the sink",
    "seen_on": "2026-11-25",
    "seen_at": "about 7 PM",
    "how_many": "one",
    "name": "Casey Example",
}


@pytest.fixture(autouse=True)
def fresh_counters() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture(autouse=True)
def clock() -> Iterator[Any]:
    with time_machine.travel(NOW, tick=False) as moved:
        yield moved


@pytest.fixture
def place(office: Person) -> Property:
    return make_property(make_customer(office.branch, "Demonstration Diner", kind="commercial"))


@pytest.fixture
def given(place: Property, office: Person) -> GivenLink:
    contact = make_contact(place.customer, "Lee Example", phone="+16145550177")
    return give_logbook_link(
        property_id=place.pk,
        contact_id=contact.pk,
        last_day=DAY + timedelta(days=10),
        by=office,
        now=NOW,
    )


@pytest.fixture
def guest(given: GivenLink) -> Client:
    client = Client()
    assert client.get(path_of(given)).status_code == 200
    assert client.post(path_of(given)).url == reverse("site_logbook")
    return client


def path_of(given: GivenLink) -> str:
    return reverse("site_logbook_enter", args=[given.token])


def told(**fields: object) -> dict[str, object]:
    return {**SEEN, "once": str(uuid.uuid4()), **fields}


def bare(answer: Any) -> str:
    return re.sub(r'(nonce|value)="[^"]+"', "", answer.content.decode())


def words_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
