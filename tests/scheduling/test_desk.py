"""The inspection desk: what a question finds, says, hands over, and does not take."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from hashlib import sha256
from io import BytesIO
from typing import Any
from zipfile import ZipFile

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from accounts.models import AuditEvent, Branch, Person
from scheduling.services.correcting import approve_request, fill_gap_of
from tests.factories import client_for, make_customer, make_property, make_visit
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House, house, make_house
from treatments.models import ApplicationRecord, LogEntry
from treatments.selectors.log import verify
from treatments.selectors.log_keys import key_fingerprint
from treatments.services.corrections import ask_correction, ask_void
from treatments.services.recording import record_application
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place

__all__ = ["house", "make_house"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
DAY = "2026-11-25"


def at_the_desk(manager: Person, method: str = "get", name: str = "desk", **asked: str) -> Any:
    """What the manager gets; asked three hours after the work."""
    with time_machine.travel(NOW + timedelta(hours=3), tick=False):
        client: Client = client_for(manager)
        url = reverse(name, query=asked)
        return getattr(client, method)(url)


def recorded(house: House, days: int = 0, **changes: Any) -> ApplicationRecord:
    """A record made at its own time, so many days before the suite's day."""
    at = NOW - timedelta(days=days)
    times = {"started_at": at - timedelta(minutes=40), "finished_at": at - timedelta(minutes=16)}
    application = house.application(**times | changes)
    return record_application(application=application, by=house.technician, now=at).record


def found(answer: HttpResponse) -> list[int]:
    """Keys of the records on the page."""
    assert answer.status_code == 200, answer.content.decode()
    return [one.pk for one in answer.context["answer"].records]


def list_of(answer: HttpResponse, key: str) -> Any:
    return next(one for one in answer.context["answer"].lists if one.key == key)


def test_each_question_finds_what_it_asks_for(
    house: House, make_house: Callable[..., House], manager: Person, other_technician: Person
) -> None:
    near = {"latitude": "40.000000", "longitude": "-83.000000"}
    other = make_house(street="1 Mill Road", latitude="40.010000", longitude="-83.000000")
    type(house.place).objects.filter(pk=house.place.pk).update(**near)
    here, before = recorded(house), recorded(house, days=20)
    there = recorded(other, days=10)
    with time_machine.travel(NOW, tick=False):
        from_other = replace(other, technician=other_technician)
        by_other = recorded(from_other, applicator_id=other_technician.pk)
    everything = [by_other.pk, here.pk, there.pk, before.pk]
    for asked, expected in (
        ({"since": "2026-01-01", "until": "2026-12-31"}, everything),
        ({"since": DAY}, [by_other.pk, here.pk]),
        ({"until": "2026-11-15"}, [there.pk, before.pk]),
        ({"person": str(other_technician.pk)}, [by_other.pk]),
        ({"place": "sluice"}, [here.pk, before.pk]),
        ({"place": "1 Mill Road, 43085"}, [by_other.pk, there.pk]),
        ({"product": "Demonstration A SC", "since": DAY}, [by_other.pk, here.pk]),
        # 0.01 degrees of latitude are 1.112 km, 0.691 mi
        ({"near": "40, -83", "miles": "0.69"}, [here.pk, before.pk]),
        ({"near": "40, -83", "miles": "0.692"}, everything),
        ({"near": "118 Sluice Lane", "miles": "0.1"}, [here.pk, before.pk]),
        ({"near": "40, -83", "miles": "1", "place": "mill"}, [by_other.pk, there.pk]),
        # worked 2:20 to 2:44 PM at the branch
        ({"since": DAY, "from_hour": "14:44", "to_hour": "15:00"}, [by_other.pk, here.pk]),
        ({"since": DAY, "from_hour": "14:45", "to_hour": "15:00"}, []),
        ({"since": "2025-01-01", "until": "2025-12-31"}, []),
    ):
        assert found(at_the_desk(manager, **asked)) == expected, asked


def test_a_customer_is_every_property_of_theirs(
    house: House, manager: Person, branch_ohio: Branch
) -> None:
    bakery = make_customer(branch_ohio, "Pellbrook Bakery")
    places = [make_property(bakery, street=f"{number} Oven Street") for number in (1, 2)]
    record = recorded(house)
    answer = at_the_desk(manager, place="marta ellwood")
    assert found(answer) == [record.pk]
    assert "at Marta Ellwood" in answer.context["answer"].question
    assert found(at_the_desk(manager, place="Pellbrook Bakery")) == []
    several = at_the_desk(manager, place="Oven")
    assert several.status_code == 422
    assert "Several fit: 1 Oven Street" in several.content.decode()
    assert found(at_the_desk(manager, place=places[0].address)) == []


def test_a_corrected_and_a_voided_record_come_with_every_version(
    house: House, manager: Person, office: Person
) -> None:
    first, second = recorded(house, days=9), recorded(house)
    asked = ask_correction(
        record_id=first.pk, facts={"wind_mph": "4"}, reason="Read late.",
        by=house.technician, now=NOW,
    )  # fmt: skip
    (after,) = approve_request(request_id=asked.pk, by=manager, now=NOW)
    void = ask_void(record_id=second.pk, reason="Twice.", by=house.technician, now=NOW)
    (gone,) = approve_request(request_id=void.pk, by=manager, now=NOW)
    answer = at_the_desk(manager, since="2026-11-01", until="2026-11-30")
    assert found(answer) == [gone.pk, after.pk]
    told = answer.context["answer"]
    assert (told.in_force, told.voided, told.with_history) == (1, 1, 2)
    versions = told.records[1].versions
    assert [one.word for one in versions] == ["Recorded", "Corrected"]
    assert versions[1].approved_by == "Morgan Manager"
    assert versions[1].changes == ("Wind: 4 mph instead of nothing",)
    assert told.records[1].weather.startswith("wind 4")
    # a question that only the first version fits gives its whole history
    assert found(at_the_desk(manager, since="2026-11-16")) == [after.pk]


def test_each_list_says_what_is_not_there(house: House, manager: Person) -> None:
    record = recorded(house, visit_ref="not a visit")
    ask_void(record_id=record.pk, reason="Twice.", by=house.technician, now=NOW)
    answer = at_the_desk(manager, since=DAY)
    missing = answer.context["answer"].missing
    label = str(house.use.label_version)
    for sentence in (
        f"Label of {label} is not kept here.",
        f"Safety data sheet of {label} is not kept here.",
        "1 record without any reading of the weather.",
        "1 record of no visit: no notice.",
        "1 record with a product and no lot.",
    ):
        assert sentence in missing
    (person,) = list_of(answer, "people").rows
    assert person[0] == "Terry Technician" and "certified applicator" in person[2]
    assert "none in the register" not in person[3]
    assert (str(record.pk), "Void asked for", "Twice.") in list_of(answer, "open").rows
    assert [row[0] for row in list_of(answer, "rules").rows] == record.profile_codes


def test_a_lot_is_told_from_purchase_on(house: House, manager: Person, technician: Person) -> None:
    truck = add_place(
        branch_id=house.place.branch_id, kind="vehicle", name="Truck 1",
        technician_id=technician.pk, by=None,
    )  # fmt: skip
    receive_lot(
        place_id=truck.pk, label_version_id=house.use.label_version_id, lot_number="L-7",
        container_size="32", container_unit="fl_oz", containers=1,
        received_on=date(2026, 11, 1), dealer="Demonstration Supply", invoice="R-12",
        by=None, now=NOW - timedelta(days=24),
    )  # fmt: skip
    record = recorded(house)
    answer = at_the_desk(manager, lot="l-7")
    assert found(answer) == [record.pk]
    rows = list_of(answer, "lots").rows
    assert [row[2:6] for row in rows] == [
        ("Received", "Truck 1", "32.00 fl oz", "32.00 fl oz"),
        ("Used", "Truck 1", "1.60 fl oz", "30.40 fl oz"),
    ]
    assert rows[0][6] == "from Demonstration Supply, invoice R-12"
    assert not any("no lot" in one for one in answer.context["answer"].missing)


def test_a_property_without_a_position_is_told(house: House, manager: Person) -> None:
    type(house.place).objects.filter(pk=house.place.pk).update(latitude=None, longitude=None)
    recorded(house)
    answer = at_the_desk(manager, near="40, -83", miles="25")
    assert found(answer) == []
    assert answer.context["answer"].notes == (
        "1 property with records in these days has no position and may lie inside: not looked at.",
    )
    refused = at_the_desk(manager, near="118 Sluice Lane", miles="1")
    assert "is not known. Write one" in refused.content.decode()


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"since": "yesterday"}, "write the day as"),
        ({"since": "2026-02-30"}, "write the day as"),
        ({"since": "0001-01-01"}, "choose a day between 2000 and 2099"),
        ({"since": "2026-11-02", "until": "2026-11-01"}, "the last day is before the first"),
        ({"lot": "none such"}, "came to this branch"),
        ({"place": "nowhere at all"}, "No property or customer of this branch fits"),
        ({"near": "nowhere at all", "miles": "1"}, "No property of this branch has this address"),
        ({"near": "91, 0", "miles": "1"}, "not a place on the Earth"),
        ({"near": "40, -83"}, "how many miles around it"),
        ({"miles": "3"}, "how many miles around it"),
        ({"near": "40, -83", "miles": "0"}, "above 0"),
        ({"near": "40, -83", "miles": "-1"}, "above 0"),
        ({"near": "40, -83", "miles": "10000"}, "at most 25 miles"),
        ({"near": "40, -83", "miles": "NaN"}, "above 0"),
        ({"near": "40, -83", "miles": "1e400"}, "Within miles:"),
        ({"from_hour": "10:00"}, "write both hours"),
        ({"from_hour": "10:00", "to_hour": "09:00"}, "the last hour is before"),
        ({"person": "999999"}, "choose one of the list"),
        ({"person": "1 OR 1=1"}, "choose one of the list"),
        ({"product": "<script>"}, "choose one of the list"),
        ({"lot": "x" * 5000}, "Lot:"),
        ({"place": "a\x00b"}, "Null characters"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_said_and_nothing_is_lost(
    asked: dict[str, str], sentence: str, house: House, manager: Person
) -> None:
    answer = at_the_desk(manager, **asked)
    page = answer.content.decode()
    assert answer.status_code == 422 and sentence in page
    assert "<script>alert" not in page
    for name, value in asked.items():
        assert answer.context["form"][name].value() == value
    before = LogEntry.objects.count()
    assert at_the_desk(manager, "post", "desk_paper", **asked).status_code == 422
    assert at_the_desk(manager, "post", "desk_bundle", **asked).status_code == 422
    assert LogEntry.objects.count() == before


def test_another_branch_is_another_desk(house: House, manager: Person, branch_penn: Branch) -> None:
    record = recorded(house)
    assert found(at_the_desk(manager, since=DAY)) == [record.pk]
    assert found(at_the_desk(manager, since=DAY, branch=str(branch_penn.pk))) == []
    of_ohio = at_the_desk(manager, person=str(house.technician.pk), branch=str(branch_penn.pk))
    assert of_ohio.status_code == 422
    assert at_the_desk(manager, since=DAY, branch="999999").status_code == 404


def test_the_paper_has_everything_and_is_in_the_log(house: House, manager: Person) -> None:
    record = recorded(house)
    after = fill_gap_of(
        record_id=record.pk, facts={"wind_mph": "4"}, by=house.technician, now=NOW,
        client_ref=uuid.uuid4(),
    )  # fmt: skip
    answer = at_the_desk(manager, "post", "desk_paper", since=DAY)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    text = " ".join(
        " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages).split()
    )
    leaf = LogEntry.objects.get(record=after)
    for words in (
        "Records applied Nov 25, 2026.",
        "As of Nov 25, 2026, 6:00 PM at the branch",
        "1 record in force, 0 voided, 1 with more than one version.",
        "118 Sluice Lane", "Marta Ellwood", "1.6 fl oz", "99999-101", "Version 2, completed",
        "Appendix: how to prove these records",
        f"Record {after.pk} is leaf {leaf.seq}, under the root: {leaf.leaf_hash}",
        key_fingerprint(),
        "The leaves below were compared with this root.",
    ):  # fmt: skip
        assert words in text, words
    digest = sha256(answer.content).hexdigest()
    told = json.loads(bytes(LogEntry.objects.get(kind="handed_over").leaf))["payload"]
    assert (told["sha256"], told["records"], told["inspector_visit"]) == (digest, 1, None)
    assert told["scope"]["since"] == DAY and "Marta" not in json.dumps(told)
    event = AuditEvent.objects.get(act="handed_over")
    assert (event.person_name, event.details["sha256"]) == ("Morgan Manager", digest)
    page = at_the_desk(manager, name="desk_visits").content.decode()
    assert digest in page and "Records applied Nov 25, 2026." in page
    later = NOW + timedelta(hours=4)
    assert verify(house.place.branch_id, key=key_fingerprint(), now=later).is_whole


def test_a_log_that_was_changed_is_said_on_paper(house: House, manager: Person) -> None:
    recorded(house)
    zeros = "0" * 64
    behind_the_guards(f"UPDATE treatments_logentry SET leaf_hash = '{zeros}'")
    answer = at_the_desk(manager, "post", "desk_paper", since=DAY)
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)
    assert "is not what its hash says. Verify the log." in text
    assert "were compared with this root" not in text


def test_the_bundle_is_of_the_same_question(
    house: House, make_house: Callable[..., House], manager: Person
) -> None:
    recorded(make_house(street="1 Mill Road"))
    record = recorded(house)
    answer = at_the_desk(manager, "post", "desk_bundle", since=DAY, place="Sluice")
    content = b"".join(answer.streaming_content)
    with ZipFile(BytesIO(content)) as archive:
        rows = archive.read("records.jsonl").splitlines()
        assert "1 property" in archive.read("README.txt").decode()
    assert [json.loads(row)["record_id"] for row in rows] == [record.pk]
    event = AuditEvent.objects.get(act="handed_over")
    assert event.details["what"] == "bundle"
    assert event.details["sha256"] == sha256(content).hexdigest()


def test_an_empty_answer_says_so_on_paper_too(house: House, manager: Person) -> None:
    answer = at_the_desk(manager, "post", "desk_paper", since="2025-01-01")
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)
    assert "No record fits this question." in text


@pytest.mark.parametrize("more", [0, 6])
def test_the_page_costs_the_same_for_more_records(
    more: int, house: House, manager: Person, django_assert_max_num_queries: Any
) -> None:
    for days in range(1 + more):
        recorded(house, days=days * 8, visit_ref=str(make_visit(house.place, house.technician).ref))
    client = client_for(manager)
    url = reverse("desk", query={"since": "2026-01-01", "until": "2026-12-31"})
    client.get(url)
    with django_assert_max_num_queries(30):
        assert len(found(client.get(url))) == 1 + more


def test_more_than_a_paper_holds_is_said(
    house: House, manager: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    recorded(house)
    recorded(house, days=10)
    monkeypatch.setattr("treatments.selectors.desk.MOST_RECORDS", 1)
    asked = {"since": "2026-11-01", "until": "2026-11-30"}
    page = at_the_desk(manager, **asked)
    assert page.status_code == 422
    assert "2 entries fit this question and the desk shows 1." in page.content.decode()
    assert at_the_desk(manager, "post", "desk_paper", **asked).status_code == 422
    assert not AuditEvent.objects.filter(act="handed_over").exists()
