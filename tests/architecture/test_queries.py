"""No page reads the database more than 35 times, session and person included (house rule)."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from sites.models import Pest
from tests.architecture.answers import ROLES, Row
from tests.architecture.examples import Examples
from tests.architecture.permission_table import TABLE
from tests.architecture.test_permission_table import _taken_back
from tests.factories import make_label
from treatments.models import LabelUse

# the stop page shows a dozen parts, each read once; house rule
MOST = 35
SHOWN = (200, 422)
# the roles whose page says most, first
BY_REACH = ("technician", "manager", "office", "stranger", "anonymous")
OF_A_CHOICE = ("mix", "mix_tag", "record_stop", "stop_decide")
Asked = tuple[str, str, str]  # role, page, address


def _role_of(row: Row) -> str | None:
    """Who gets furthest on a page; None where nobody is shown one by this table alone."""
    shown = {role for role, code in zip(ROLES, row.get or (), strict=True) if code in SHOWN}
    return next((role for role in BY_REACH if role in shown), None)


def _pages(own: Examples) -> Iterator[Asked]:
    for name, row in TABLE.items():
        if row.get and (role := _role_of(row)):
            yield role, name, reverse(name, args=[own[thing] for thing in row.takes])


def _choices(own: Examples) -> Iterator[Asked]:
    """The pages of a mix with a choice made: named, not mentioned, refused, two in the tank."""
    use = LabelUse.objects.get(label_version=own["label"])
    beside = make_label(pests=[*use.pests.all()])
    other = Pest.objects.exclude(pk__in=use.pests.all()).first()
    chosen = {"zone": own["zone"], "use": use.pk, "method": "perimeter_band"}
    asked = (
        chosen,
        chosen | {"method": "foam"},
        chosen | {"pest": other.pk if other else ""},
        chosen | {"use": beside.pk},
        chosen | {"also": beside.pk},
        chosen | {"tank": "0.5"},
    )
    for name in OF_A_CHOICE:
        for query in asked:
            yield "technician", name, f"{reverse(name, args=[own['visit']])}?{urlencode(query)}"


def _queries(client: Client, url: str) -> int:
    with _taken_back(), CaptureQueriesContext(connection) as seen:
        assert client.get(url).status_code < 500, url
    return len(seen)


@pytest.mark.django_db
def test_no_page_reads_more_often_than_it_needs(clients: dict[str, Client], own: Examples) -> None:
    pages = [*_pages(own), *_choices(own)]
    assert {name for _, name, _ in pages} > {"mix", "record", "stop", "property", "label", "desk"}
    counted = {(name, url): _queries(clients[role], url) for role, name, url in pages}
    assert {page: count for page, count in counted.items() if count > MOST} == {}
