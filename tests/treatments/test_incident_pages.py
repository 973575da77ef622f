"""The pages of incidents and holds: report, list with clocks, history, notice, closing, holds."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.http import HttpResponse

from accounts.models import OpenItem, Person
from tests.factories import client_for, make_record
from tests.treatments.conftest import NOW, House
from tests.treatments.incident_cases import reported, told
from treatments.models import Incident, IncidentAddendum, RetentionHold

pytestmark = pytest.mark.django_db
TYPED = {
    "kind": "drift",
    "what": "Spray blew onto the neighbor's roses.",
    "happened_on": "2026-11-25",
    "happened": "14:30",
    "unit": "gal",
    "care": "none",
}


@pytest.fixture(autouse=True)
def _three_in_the_afternoon() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def boston(make_house: Any) -> House:
    house: House = make_house(state="MA", city="Boston")
    return house


def text(answer: HttpResponse) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def typed(**more: Any) -> dict[str, Any]:
    return TYPED | {"client_ref": str(uuid.uuid4())} | more


def test_a_manager_reports_at_a_property(boston: House, manager: Person) -> None:
    record = make_record(boston.band, boston.technician, boston.use)
    url = f"/incidents/add/?property={boston.place.pk}"
    page = client_for(manager).get(url)
    assert "1-800-222-1222" in text(page)
    assert "1-800-858-7378" in text(page)
    answer = client_for(manager).post(url, typed(records=[record.pk], amount="2", done=["contain"]))
    incident = Incident.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/incidents/{incident.pk}/")
    # half past two in Boston
    assert incident.happened_at.isoformat() == "2026-11-25T19:30:00+00:00"
    assert incident.property == boston.place
    assert record.holds.count() == 1
    shown = text(client_for(manager).get(f"/incidents/{incident.pk}/"))
    for words in ("47 h 30 min left", "333 CMR 10.14", "neighbor&#x27;s roses", "held while"):
        assert words in shown, words


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"kind": ""}, "choose one"),
        ({"what": ""}, "say in a few words"),
        ({"happened": "25:99"}, "write the time as 14:30"),
        ({"happened": "16:30"}, "has not come yet"),
        ({"happened_on": "2026-03-08", "happened": "02:30"}, "was left out that day"),
        ({"happened_on": "next week"}, "write the day as"),
        ({"amount": "1,5"}, "with a point"),
        ({"product": "9999"}, "choose one from this list"),
        ({"records": ["9999"]}, "choose from the list"),
        ({"client_ref": "x"}, "has lost its number"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(
    boston: House, manager: Person, more: dict[str, Any], says: str
) -> None:
    make_record(boston.band, boston.technician, boston.use)
    url = f"/incidents/add/?property={boston.place.pk}"
    answer = client_for(manager).post(url, typed(whom="Two cats", **more))
    assert answer.status_code == 422
    assert says in text(answer)
    assert "Two cats" in text(answer)
    assert not Incident.objects.exists()


def test_on_the_road_a_place_is_needed(house: House) -> None:
    client = client_for(house.technician)
    assert "Say where" in text(client.post("/incidents/add/", typed()))
    answer = client.post("/incidents/add/", typed(where="Route 4, mile 12"))
    assert answer.status_code == 302
    assert "Route 4, mile 12" in text(client.get(answer["Location"]))


@pytest.mark.parametrize("asked", ["x", "-1", "9" * 30, ""])
def test_a_property_that_is_none_is_left_out(manager: Person, asked: str) -> None:
    answer = client_for(manager).get(f"/incidents/add/?property={asked}")
    assert answer.status_code == 200
    assert "Not at a property" in text(answer)


def test_a_property_of_nobody_is_not_found(manager: Person, house: House) -> None:
    assert client_for(manager).get("/incidents/add/?property=99999").status_code == 404
    own = client_for(house.technician).get(f"/incidents/add/?property={house.place.pk}")
    assert own.status_code == 404


def test_the_list_counts_down_and_says_who_is_late(boston: House, manager: Person) -> None:
    incident = reported(boston, happened_at=NOW)
    assert "48 h 0 min left" in text(client_for(manager).get("/incidents/"))
    with time_machine.travel("2026-11-28T20:00:00Z", tick=False):
        shown = text(client_for(manager).get("/incidents/"))
    assert "24 h 0 min over" in shown
    assert "1 past the time of the agency notice" in shown
    assert str(incident.pk) in shown


def test_the_number_of_queries_does_not_grow(
    boston: House, manager: Person, django_assert_num_queries: Any
) -> None:
    client = client_for(manager)
    reported(boston)
    client.get("/incidents/")
    with django_assert_num_queries(7) as few:
        client.get("/incidents/")
    for _ in range(4):
        reported(boston)
    with django_assert_num_queries(len(few.captured_queries)):
        client.get("/incidents/")


def test_the_notice_is_typed_and_stops_the_clock(boston: House, manager: Person) -> None:
    incident = reported(boston)
    url = f"/incidents/{incident.pk}/notice/"
    entered = {
        "client_ref": str(uuid.uuid4()),
        "agency": "Department of Agriculture",
        "given_on": "2026-11-25",
        "given": "14:55",
        "given_by": manager.pk,
        "way": "telephone",
        "reference": "2026-0815",
    }
    client = client_for(manager)
    bad = client.post(url, entered | {"given": "13:00"})
    assert (bad.status_code, "before it happened" in text(bad)) == (422, True)
    assert client.post(url, entered).status_code == 302
    shown = text(client.get(f"/incidents/{incident.pk}/"))
    for words in ("Given in time", "Department of Agriculture", "2026-0815", "Morgan Manager"):
        assert words in shown, words
    assert not OpenItem.objects.filter(code="incident_notice", closed_at=None).exists()


def test_it_is_completed_closed_and_opened_again(house: House, manager: Person) -> None:
    incident = reported(house)
    path, client = f"/incidents/{incident.pk}/", client_for(manager)
    technician = client_for(house.technician)
    assert technician.post(f"{path}add/", {"words": "The drain is dry."}).status_code == 302
    assert client.post(f"{path}reopen/", {"words": "x"}).status_code == 422
    assert client.post(f"{path}close/", {"words": " "}).status_code == 422
    assert client.post(f"{path}close/", {"words": "Nothing is left."}).status_code == 302
    assert "Open it again" in text(client.get(path))
    assert client.post(f"{path}reopen/", {"words": "A neighbor is ill."}).status_code == 302
    shown = text(client.get(path))
    for words in ("The drain is dry.", "Nothing is left.", "A neighbor is ill.", "Close it"):
        assert words in shown, words
    assert IncidentAddendum.objects.count() == 3


def test_the_office_reads_and_offers_no_act(boston: House, office: Person, manager: Person) -> None:
    incident = reported(boston)
    told(incident, manager)
    shown = text(client_for(office).get(f"/incidents/{incident.pk}/"))
    assert "Given in time" in shown
    for act in ("The agency was told", "Add to it", "Close it"):
        assert act not in shown


def test_names_are_escaped(house: House, manager: Person) -> None:
    incident = reported(house, what="<script>alert(1)</script>")
    page = client_for(manager).get(f"/incidents/{incident.pk}/").content.decode()
    assert "<script>alert" not in page


def test_a_hold_is_set_and_released_from_the_record(house: House, manager: Person) -> None:
    record = make_record(house.band, house.technician, house.use)
    client, page = client_for(manager), f"/record/{record.pk}/"
    assert "No hold stands" in text(client.get(page))
    assert client.post(f"{page}hold/", {"reason": ""}).status_code == 422
    assert client.post(f"{page}hold/", {"reason": "Claim 7 of the owner"}).status_code == 302
    assert "Held Claim 7 of the owner" in text(client.get(page))
    hold = RetentionHold.objects.get()
    url = f"/holds/{hold.pk}/release/"
    assert client.post(url, {"reason": "Settled in March"}).status_code == 302
    assert "Released: Settled in March" in text(client.get(page))
    again = client.post(url, {"reason": "Again"})
    assert (again.status_code, "released before" in text(again)) == (422, True)


def test_the_hold_of_an_open_incident_leads_to_the_incident(house: House, manager: Person) -> None:
    record = make_record(house.band, house.technician, house.use)
    incident = reported(house, record_ids=(record.pk,))
    shown = text(client_for(manager).get(f"/record/{record.pk}/"))
    assert f"Open incident {incident.pk}" in shown
    assert "Release it" not in shown
    technician = client_for(house.technician).get(f"/record/{record.pk}/")
    assert "Hold this record" not in text(technician)
