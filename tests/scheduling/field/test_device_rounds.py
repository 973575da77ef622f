"""A technician walks a round of devices: one tap, a short form, the end, the bait's record."""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from accounts.models import OpenItem, Person
from scheduling.models import BaitRecord, Visit, VisitApplication
from scheduling.selectors.site_logbook import logbook_of
from scheduling.services.field import end_not_done
from sites.models import Device, DeviceCheck, Pest, TreatableZone
from sites.rules.devices.numbers import device_code
from sites.rules.places import Geometry, PestGroup, Place
from tests.devices import make_device, make_devices
from tests.factories import (
    TODAY,
    client_for,
    make_customer,
    make_label,
    make_pest,
    make_product,
    make_property,
    make_visit,
    make_zone,
)
from tests.scheduling.logbook_house import words_of
from treatments.models import ApplicationRecord, LabelUse, LogEntry, StockMove, StockPlace
from treatments.rules.stock import PlaceKind
from treatments.services.stock import receive_lot
from treatments.services.stock_places import add_place

pytestmark = pytest.mark.django_db
UNRECORDED = "device_bait_unrecorded"


@dataclass(frozen=True)
class Round:
    """A stop with three bait stations in one zone, a bait aboard, the technician's client."""

    visit: Visit
    devices: list[Device]
    zone: TreatableZone
    mouse: Pest
    use: LabelUse
    client: Client

    @property
    def path(self) -> str:
        return f"/stops/{self.visit.pk}/devices/"

    def get(self, more: str = "") -> HttpResponse:
        return self.client.get(f"{self.path}{more}")

    def send(self, device: Device, outcome: str = "no_activity", **typed: Any) -> HttpResponse:
        form = {"client_ref": str(uuid.uuid4()), "outcome": outcome} | typed
        return self.client.post(f"{self.path}{device.pk}/", form)

    def bait(self, pieces: int, each: str = "1") -> dict[str, str]:
        """The bait of the lot aboard as the form sends it."""
        key = f"{self.use.label_version_id}|L-3"
        return {"bait": key, "pieces": str(pieces), "each": each, "unit": "oz_wt"}


@pytest.fixture
def walk(technician: Person) -> Round:
    visit = make_visit(make_property(make_customer(technician.branch)), technician, TODAY)
    zone = make_zone(
        visit.property, "Stations", "6", geometry=Geometry.COUNT, place=Place.INTERIOR_SPOT
    )
    devices = make_devices(visit.property, 3, kind="bait_station", zone=zone)
    mouse = make_pest("House mouse", PestGroup.RODENTS)
    use = _bait(mouse)
    _aboard(technician, use)
    return Round(visit, devices, zone, mouse, use, client_for(technician))


def _bait(mouse: Pest) -> LabelUse:
    product = make_product("Demonstration bait", formulation="bait")
    rate = {"rate_basis": "count", "rate_max": Decimal(2), "rate_unit": "oz_wt"}
    none = {"per_gallon": None, "gallons_per_1000": None}
    places = {"methods": ["bait"], "places": [Place.INTERIOR_SPOT]}
    return make_label(product, pests=[mouse], use=rate | none | places)


def _aboard(technician: Person, use: LabelUse) -> None:
    truck = add_place(
        branch_id=technician.branch_id,
        kind=PlaceKind.VEHICLE,
        name="Truck 1",
        technician_id=technician.pk,
        by=None,
    )
    _receive(truck, use, "L-3")


def _receive(truck: StockPlace, use: LabelUse, lot_number: str) -> None:
    receive_lot(
        place_id=truck.pk,
        label_version_id=use.label_version_id,
        lot_number=lot_number,
        container_size="64",
        container_unit="oz_wt",
        containers=1,
        received_on=TODAY,
        dealer="Demonstration Supply",
        by=None,
        now=timezone.now(),
    )


def said(answer: HttpResponse) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return " ".join(text.replace("&nbsp;", " ").split())


def test_one_tap_goes_on_to_the_next_and_a_break_is_resumed(walk: Round) -> None:
    first, second, third = walk.devices
    assert "Begin with device 1" in said(walk.client.get(f"/stops/{walk.visit.pk}/"))
    page = said(walk.get())
    assert "Device 1" in page and "0 of 3 answered" in page and "No activity" in page
    answer = walk.send(first)
    assert answer["Location"] == f"{walk.path}?after={first.pk}"
    assert "1 of 3 answered" in said(walk.client.get(answer["Location"]))
    walk.visit.refresh_from_db()
    assert walk.visit.state == "started"
    # the second is left for later, the third answered, the first page brings the second back
    assert "Device 3" in said(walk.get(f"?after={second.pk}"))
    answer = walk.send(third)
    assert walk.client.get(answer["Location"])["Location"] == f"{walk.path}end/"
    assert "Device 2" in said(walk.get())
    assert "Go on at device 2" in said(walk.client.get(f"/stops/{walk.visit.pk}/"))


def test_sent_twice_it_is_one_check_and_another_answer_stands_beside_it(walk: Round) -> None:
    device, ref = walk.devices[0], str(uuid.uuid4())
    for _ in range(2):
        assert walk.send(device, client_ref=ref).status_code == 302
    assert DeviceCheck.objects.count() == 1
    other = walk.send(device, "missing", client_ref=ref)
    assert other.status_code == 422 and "sent before with other words" in said(other)
    walk.send(device, "activity", pest_1=str(walk.mouse.pk), count_1="2", eaten="1")
    page = said(walk.get("?number=1"))
    assert "Answered at this stop: Activity, 2 House mouse, bait eaten: 1/4" in page
    assert DeviceCheck.objects.count() == 2


def test_a_label_code_or_a_number_goes_to_its_device(walk: Round) -> None:
    code = device_code(walk.visit.property_id, 3)
    assert "Wall 3" in said(walk.get(f"?number={code.lower()}"))
    for wrong in ("99", "P00001-0001-Q", "<script>"):
        page = walk.get(f"?number={wrong}")
        assert page.status_code == 200 and "Not found." in said(page)
        assert "<script>" not in page.content.decode().partition("<main")[2]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"outcome": "no_activity", "eaten": "2"}, "A count or eaten bait is activity"),
        ({"outcome": "activity", "count_1": "-1"}, "greater than or equal to 0"),
        ({"outcome": "activity", "count_1": "3"}, "Choose what was counted"),
        ({"outcome": "activity", "eaten": "9"}, "Select a valid choice"),
        ({"outcome": "no_activity", "pieces": "2"}, "Choose the bait that was added"),
        ({"outcome": "no_activity", "bait": "0|x"}, "Select a valid choice"),
        ({"outcome": "gone"}, "Select a valid choice"),
        ({"outcome": "missing", "is_damaged": "on"}, "shows nothing"),
        ({"client_ref": "no"}, "has lost its number"),
    ],
)
def test_bad_input_keeps_what_was_typed(walk: Round, typed: dict[str, str], sentence: str) -> None:
    answer = walk.send(walk.devices[0], **{"note": "Behind the pallet"} | typed)
    assert answer.status_code == 422
    assert sentence.lower() in said(answer).lower()
    assert "Behind the pallet" in answer.content.decode()
    assert not DeviceCheck.objects.exists()


def test_another_property_another_technician_a_canceled_stop(
    walk: Round, other_technician: Person
) -> None:
    far = make_device(make_property(walk.visit.property.customer, "10 Ferry Landing"))
    assert walk.send(far).status_code == 404
    theirs = client_for(other_technician)
    for page in ("", "end/", f"{walk.devices[0].pk}/", "bait/"):
        assert theirs.get(f"{walk.path}{page}").status_code == 404
    Visit.objects.filter(pk=walk.visit.pk).update(state="canceled")
    assert "was canceled" in said(walk.send(walk.devices[0]))
    assert not DeviceCheck.objects.exists()


def test_what_was_skipped_asks_why(walk: Round) -> None:
    walk.send(walk.devices[0])
    end = walk.get("end/")
    assert "2 left" in said(end) and "Device 2, Wall 2" in said(end)
    names = re.findall(r'name="(ref_\d+)" value="([^"]+)"', end.content.decode())
    form = dict(names) | {f"skip_{walk.devices[1].pk}": "Pallets before it."}
    assert "say why it was not checked" in said(walk.client.post(f"{walk.path}end/", form))
    assert DeviceCheck.objects.count() == 1
    form[f"skip_{walk.devices[2].pk}"] = "Locked cage."
    for _ in range(2):
        assert walk.client.post(f"{walk.path}end/", form)["Location"] == f"{walk.path}end/"
    rows = DeviceCheck.objects.filter(outcome="skipped").order_by("pk")
    assert [row.note for row in rows] == ["Pallets before it.", "Locked cage."]
    assert "Every device has an answer" in said(walk.get("end/"))


def test_bait_added_becomes_one_record_of_the_round(
    walk: Round, technician: Person, office: Person
) -> None:
    one, two, three = walk.devices
    assert walk.send(one, **walk.bait(2)).status_code == 302
    walk.send(two, "activity", eaten="4", **walk.bait(1, "0.5"))
    walk.send(three)
    assert list(OpenItem.objects.values_list("code", flat=True)).count(UNRECORDED) == 1
    assert "Bait without its record" in said(walk.client.get(f"/stops/{walk.visit.pk}/"))
    end = said(walk.get("end/"))
    assert "3 pieces, 2.5 oz (wt) of Demonstration bait, lot L-3" in end
    assert "2 × 1 oz (wt) + 1 × 0.5 oz (wt), devices 1, 2" in end
    keys = (
        DeviceCheck.objects.filter(added_pieces__gt=0).order_by("pk").values_list("pk", flat=True)
    )
    url = f"bait/?of={'-'.join(map(str, keys))}"
    page = said(walk.get(url))
    assert "Were traps and sealing offered first?" in page and "Stations" in page

    form = {"zones": [str(walk.zone.pk)], "pests": [str(walk.mouse.pk)], "started": "09:30"}
    form |= {"finished": "09:50", "protective_equipment": "on", "ask_bait_placements": "2"}
    form |= {"ask_traps_first": "yes", "ask_bait_eaten": "1 oz"}
    wrong = walk.client.post(f"{walk.path}{url}", form | {"finished": "09:00"})
    assert wrong.status_code == 422 and "1 oz" in wrong.content.decode()
    for _ in range(2):
        assert walk.client.post(f"{walk.path}{url}", form)["Location"] == f"{walk.path}end/"
    record = ApplicationRecord.objects.get()
    assert (record.product_amount, record.product_unit, record.method) == ("2.5", "oz_wt", "bait")
    assert record.product_mg == round(Decimal("2.5") * Decimal("28349.523125"))  # NIST HB 44
    assert record.visit_ref == str(walk.visit.ref) and record.applicator == technician
    assert dict(record.answers.values_list("code", "answer"))["bait_placements"] == "2 each"
    assert "Lot L-3: 2 × 1 oz (wt) + 1 × 0.5 oz (wt), 3 pieces in devices 1, 2." in _notes(record)
    assert VisitApplication.objects.get().visit == walk.visit
    assert BaitRecord.objects.filter(record=record).count() == 2
    assert LogEntry.objects.filter(record=record).exists()
    assert StockMove.objects.get(record=record).lot.lot_number == "L-3"
    assert not OpenItem.objects.filter(code=UNRECORDED, closed_at=None).exists()
    judged = record.judgements.values_list("code", flat=True)
    assert judged  # the label was asked


def _notes(record: ApplicationRecord) -> str:
    kept = dict(record.personal_values.values_list("field", "value"))
    return f"{getattr(record, 'notes', '')} {kept.get('notes', '')}"


def test_the_lot_aboard_is_chosen_and_the_next_device_begins_with_it(
    walk: Round, technician: Person
) -> None:
    _receive(StockPlace.objects.get(technician=technician), walk.use, "L-9")
    one, two, three = walk.devices
    first = walk.get(f"{one.pk}/").content.decode()
    assert '|L-9" selected' not in first and '|L-3" selected' not in first
    newer = walk.bait(2) | {"bait": f"{walk.use.label_version_id}|L-9"}
    assert walk.send(one, **newer).status_code == 302
    form = walk.get(f"{two.pk}/").content.decode()
    assert f'value="{walk.use.label_version_id}|L-9" selected' in form
    assert re.search(r'name="each" value="1"', form)
    # what the form began with is no bait without pieces
    begun = {"bait": newer["bait"], "each": "1", "unit": "oz_wt", "pieces": ""}
    assert walk.send(two, **begun).status_code == 302
    assert walk.send(three, **begun | {"bait": walk.bait(1)["bait"]}).status_code == 422
    key = DeviceCheck.objects.get(added_pieces__gt=0).pk
    page = walk.get(f"bait/?of={key}").content.decode()
    assert '<option value="L-9" selected>' in page and '<option value="L-3">' in page
    said_more = {"zones": [str(walk.zone.pk)], "started": "09:30", "finished": "09:50"}
    wrong = walk.client.post(f"{walk.path}bait/?of={key}", said_more | {"lot": "L-77"})
    assert wrong.status_code == 422 and not ApplicationRecord.objects.exists()
    walk.client.post(f"{walk.path}bait/?of={key}", said_more | {"lot": "L-9"})
    record = ApplicationRecord.objects.get()
    # the older L-3 is left alone
    assert [move.lot.lot_number for move in StockMove.objects.filter(record=record)] == ["L-9"]
    assert "Lot L-9: 2 × 1 oz (wt)" in _notes(record)


def test_bait_is_recorded_also_after_the_stop_has_ended(walk: Round, technician: Person) -> None:
    walk.send(walk.devices[0], **walk.bait(1))
    end_not_done(
        visit_id=walk.visit.pk, reason="locked", note="", by=technician, now=timezone.now()
    )
    key = DeviceCheck.objects.get().pk
    form = {"zones": [str(walk.zone.pk)], "started": "09:30", "finished": "09:50"}
    answer = walk.client.post(f"{walk.path}bait/?of={key}", form)
    assert answer.status_code == 302, said(answer)
    assert ApplicationRecord.objects.count() == VisitApplication.objects.count() == 1
    # a device that is found later is still kept
    assert walk.send(walk.devices[1]).status_code == 302


def test_bait_of_no_checks_or_of_another_round(walk: Round) -> None:
    walk.send(walk.devices[0], **walk.bait(1))
    for key in ("", "x", "999999", "1-1"):
        answer = walk.client.post(f"{walk.path}bait/?of={key}", {})
        assert answer.status_code == 302
    assert not ApplicationRecord.objects.exists()
    assert OpenItem.objects.filter(code=UNRECORDED, closed_at=None).exists()


def test_forty_devices_on_a_page_take_no_more_queries(walk: Round) -> None:
    urls = (walk.path, f"{walk.path}end/", f"/stops/{walk.visit.pk}/")

    def queries() -> list[int]:
        counted = []
        for url in urls:
            with CaptureQueriesContext(connection) as caught:
                assert walk.client.get(url).status_code == 200
            counted.append(len(caught))
        return counted

    walk.send(walk.devices[0])
    few = queries()
    for number in range(4, 41):
        make_device(walk.visit.property, number, kind="bait_station", zone=walk.zone)
    for device in Device.objects.filter(number__gt=20):
        walk.send(device, "activity", pest_1=str(walk.mouse.pk), count_1="9")
    assert "40 in walking order" in said(walk.get())
    assert queries() == few
    assert max(few) <= 30


def test_the_office_sees_list_history_trend_labels_and_the_logbook(
    walk: Round, office: Person
) -> None:
    device, pk = walk.devices[0], walk.visit.property_id
    walk.send(device, "activity", pest_1=str(walk.mouse.pk), count_1="4")
    walk.send(walk.devices[1], "no_access")
    client = client_for(office)
    listed = said(client.get(f"/properties/{pk}/devices/"))
    assert "3 devices" in listed and "4 House mouse, threshold 3" in listed
    assert "4 House mouse, threshold 3" in said(client.get(f"/properties/{pk}/"))
    assert "4 House mouse, threshold 3" in said(walk.client.get(f"/stops/{walk.visit.pk}/"))
    assert "Activity, 4 House mouse" in said(client.get(f"/devices/{device.pk}/"))
    trend = client.get(f"/properties/{pk}/devices/trends/")
    assert "1 of 1, 100 %" in said(trend) and "<svg" in trend.content.decode()
    alone = said(client.get(f"/properties/{pk}/devices/trends/?device={walk.devices[1].pk}"))
    assert "none looked at" in alone
    assert client.get(f"/properties/{pk}/devices/trends/?device=x&pest=-1").status_code == 200
    paper = client.get(f"/properties/{pk}/devices/labels.pdf")
    assert paper["Content-Type"] == "application/pdf" and paper.content.startswith(b"%PDF")
    assert device_code(pk, 3) in words_of(paper.content)
    make_device(walk.visit.property, 12, kind="feed_monitor")
    paper = client.get(f"/properties/{pk}/devices/labels.pdf")
    # the longest kind is not cut beside a number of two digits
    assert "Feeding monitor (no poison)" in words_of(paper.content)
    book = logbook_of(walk.visit.property, timezone.now())
    rows = next(one.rows for one in book.lists if one.key == "devices")
    assert rows[0][:3] == ("1", "Bait station", "Wall 1, Stations") and "House mouse" in rows[0][3]


def test_the_office_adds_and_removes_by_form(walk: Round, office: Person) -> None:
    client, pk = client_for(office), walk.visit.property_id
    form = {"numbers": "4-6", "kind": "glue_monitor", "placed_on": "2026-11-25", "place": "Kitchen"}
    wrong = client.post(f"/properties/{pk}/devices/add/", form | {"numbers": "1-10000"})
    assert wrong.status_code == 422 and "At most 200 devices" in said(wrong)
    assert client.post(f"/properties/{pk}/devices/add/", form).status_code == 302
    four = Device.objects.get(number=4)
    moved = {"place": "Kitchen, sink", "x_mm": "1500", "y_mm": "200", "turn": "1"}
    assert client.post(f"/devices/{four.pk}/edit/", moved).status_code == 302
    assert "1.5 m right, 0.2 m up" in said(client.get(f"/devices/{four.pk}/"))
    gone = {"removed_on": "2026-11-25", "reason": "broken"}
    assert client.post(f"/devices/{four.pk}/remove/", gone).status_code == 302
    assert "Removed" in said(client.get(f"/properties/{pk}/devices/"))
    limit = {"kind": "glue_monitor", "count_from": "7"}
    assert client.post(f"/properties/{pk}/devices/threshold/", limit).status_code == 302
    page = client.get(f"/properties/{pk}/devices/")
    assert "Glue monitor, every pest : 7 or more of one pest" in said(page)
    none = client.post(f"/properties/{pk}/devices/threshold/", {"kind": "trap"})
    assert none.status_code == 422
