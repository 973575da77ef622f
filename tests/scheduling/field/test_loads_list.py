"""Loads as lists: a technician's own, the branch's for the office, and ended by a manager."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta

import pytest
import time_machine
from django.utils import timezone

from accounts.models import OpenItem, Person
from tests.factories import client_for, make_label, make_load, make_product
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.test_load_pages import FROM_LOAD, TANK, mix
from tests.scheduling.field.test_pages import asked, text
from treatments.models import ApplicationRecord, Load, LoadRest

pytestmark = pytest.mark.django_db
JUST_AFTER_MIDNIGHT = "2026-11-26T05:20:00Z"


def test_the_office_sees_every_load_those_on_board_first(
    stop: Stop, office: Person, other_technician: Person
) -> None:
    use = make_label(make_product("Older One"))
    older = make_load(other_technician, use, mixed_at=timezone.now() - timedelta(days=3))
    newer = make_load(stop.visit.technician, stop.use)
    LoadRest.objects.create(
        client_ref=uuid.uuid4(), client_digest="0" * 64, load=newer, kind="none", amount="0",
        unit="gal", ul=0, difference_ul=0, at=timezone.now(),
    )  # fmt: skip
    page = text(client_for(office).get("/stock/loads/"))
    assert page.index("Older One") < page.index(newer.label_version.product.name)
    assert [words in page for words in ("On board", "Ended", "1.00 gal")] == [True] * 3
    assert other_technician.full_name in page
    own = text(stop.client.get("/loads/"))
    assert ("Older One" in own, newer.label_version.product.name in own) == (False, True)
    assert text(client_for(office).get(f"/stock/loads/{older.pk}/")).count("1.00 fl oz") == 2
    # the office looks, a manager ends
    assert client_for(office).get(f"/stock/loads/{older.pk}/end/").status_code == 403


def test_a_manager_ends_a_load_that_somebody_left_behind(
    stop: Stop, manager: Person, other_technician: Person
) -> None:
    load = make_load(other_technician, stop.use)
    Person.objects.filter(pk=other_technician.pk).update(is_active=False)
    client, path = client_for(manager), f"/stock/loads/{load.pk}/"
    assert "Left behind" in text(client.get("/stock/loads/"))
    form = {"client_ref": str(uuid.uuid4()), "kind": "none", "unit": "gal"}
    refused = client.post(f"{path}end/", form)
    assert refused.status_code == 422
    done = client.post(f"{path}end/", form | {"reason": "Left the firm"})
    assert (done.status_code, done.url) == (302, path)
    page = text(client.get(path))
    assert "ended by a manager: Left the firm" in page
    assert "End this load" not in page
    # a gallon is missing: the finding leads to the load, here and under Stock
    item = OpenItem.objects.get(code="load_difference")
    for address in ("/attention/", "/stock/"):
        found = text(client.get(address))
        assert item.sentence in found
        assert f'href="{path}"' in found
    assert "Load differs" in text(client.get("/stock/"))


def test_the_list_asks_as_often_for_many_loads_as_for_few(stop: Stop, office: Person) -> None:
    for _ in range(2):
        make_load(stop.visit.technician)
    few = asked(stop, "/loads/")
    for _ in range(6):
        make_load(stop.visit.technician)
    assert asked(stop, "/loads/") == few


def test_a_load_and_a_record_typed_after_midnight_are_yesterdays(stop: Stop) -> None:
    with time_machine.travel(JUST_AFTER_MIDNIGHT, tick=False):
        page = text(stop.mix())
        assert "yesterday's, up to 6 hours back" in page.replace("&#x27;", "'")
        assert mix(stop, mixed="23:50").status_code == 302
        load = Load.objects.latest("pk")
        assert load.mixed_at == datetime.fromisoformat("2026-11-26T04:50:00Z")
        late = FROM_LOAD | {"load": load.ref, "started": "23:55", "finished": "00:15"}
        assert stop.send(**late).status_code == 302
    record = ApplicationRecord.objects.get(load_ref=load.ref)
    assert record.started_at == datetime.fromisoformat("2026-11-26T04:55:00Z")
    assert record.finished_at == datetime.fromisoformat("2026-11-26T05:15:00Z")
    assert record.applied_on.isoformat() == "2026-11-25"


def test_an_hour_that_the_clocks_left_out_is_refused_at_its_field(stop: Stop) -> None:
    with time_machine.travel("2027-03-14T07:05:00Z", tick=False):
        # the session of November is over
        form = TANK | {"client_ref": str(uuid.uuid4()), "mixed": "02:30"}
        client = client_for(stop.visit.technician)
        answer = client.post(f"{stop.path}mix/load/{stop.choice}", form)
    assert answer.status_code == 422
    assert "02:30 was left out: the clocks were set forward." in text(answer)
    assert not Load.objects.exists()


def test_a_tank_too_strong_is_refused_at_the_product(stop: Stop) -> None:
    answer = mix(stop, product_amount="0.81")
    assert answer.status_code == 422
    assert "This load would hold 0.81 fl oz per gal; the most is 0.80 fl oz per gal" in text(answer)
    assert f'value="{TANK["equipment"]}"' in text(answer)
    assert not Load.objects.exists()
