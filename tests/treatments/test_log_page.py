"""The log page: heads, fingerprint, verify now, and the bundle for an inspector."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import pytest
import time_machine

from accounts.models import Person
from tests.factories import client_for
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from treatments.models import LogEntry
from treatments.selectors.log_keys import key_fingerprint, key_path
from treatments.services.log_heads import sign_heads

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("log_files")]
DAYS = {"since": "2026-11-01", "until": "2026-11-30"}


@pytest.fixture(autouse=True)
def _at_noon() -> object:
    with time_machine.travel(NOW, tick=False):
        yield


def test_heads_and_fingerprint_are_shown_and_verified(three: House, manager: Person) -> None:
    client = client_for(manager)
    text = client.get("/log/").content.decode()
    assert "not signed yet" in text and "none on this machine yet" in text
    sign_heads(now=NOW)
    text = client.get("/log/").content.decode()
    assert key_fingerprint() in text
    assert "3 leaves, 3:00 PM" in text
    assert "Verified" not in text
    text = client.post("/log/").content.decode()
    assert "Verified Nov 25, 2026, 3:00 PM" in text
    assert "Columbus: 3 leaves, all as recorded; 1 signed head compared." in text


def test_a_difference_says_what_to_do(three: House, manager: Person) -> None:
    behind_the_guards("UPDATE treatments_applicationrecord SET city = 'Elsewhere'")
    text = client_for(manager).post("/log/").content.decode()
    assert "payload.record.city is &#x27;Elsewhere&#x27; in the table" in text
    assert "put that row back as the log says" in text


def test_the_bundle_is_downloaded_and_logged(three: House, manager: Person) -> None:
    answer = client_for(manager).post("/log/bundle/", DAYS)
    assert answer["Content-Type"] == "application/zip"
    assert "inspection-2026-11-01-2026-11-30.zip" in answer["Content-Disposition"]
    assert answer.streaming
    with ZipFile(BytesIO(b"".join(answer.streaming_content))) as archive:
        assert archive.testzip() is None
        assert archive.read("records.jsonl").count(b"\n") == 3
    assert f'"actor":{manager.pk}' in bytes(LogEntry.objects.get(kind="bundle").leaf).decode()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({}, "write the day."),
        ({"since": "soon", "until": "2026-11-30"}, "write a day, like 2026-11-25."),
        ({"since": "2026-12-01", "until": "2026-11-30"}, "the last day is before the first one."),
        (DAYS | {"branch": "999"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_asked_is_said_at_its_field(
    three: House, manager: Person, typed: dict[str, str], sentence: str
) -> None:
    answer = client_for(manager).post("/log/bundle/", typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not LogEntry.objects.filter(kind="bundle").exists()


def test_a_broken_key_is_a_sentence_not_an_error(three: House, manager: Person) -> None:
    key_path().parent.mkdir(parents=True)
    key_path().write_text("not a key")
    for answer in (
        client_for(manager).get("/log/"),
        client_for(manager).post("/log/bundle/", DAYS),
    ):
        assert answer.status_code == 422
        assert "is not a key" in answer.content.decode()


def test_only_a_manager_downloads_it(three: House, office: Person) -> None:
    for person, code in ((three.technician, 403), (office, 403), (None, 302)):
        assert client_for(person).post("/log/bundle/", DAYS).status_code == code
