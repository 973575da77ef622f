"""From the stop: the safety card, then a report in a few taps; the day's sheet two taps away."""

from __future__ import annotations

import uuid
from io import BytesIO

import pytest
from pypdf import PdfReader

from accounts.models import Person
from tests.factories import client_for, make_load
from tests.scheduling.field.conftest import Stop
from treatments.models import Incident, RetentionHold

pytestmark = pytest.mark.django_db
# a tap on the kind, the words, the button; day and time stand there already
FEW_TAPS = {
    "kind": "spill",
    "what": "A quart on the walk.",
    "happened_on": "2026-11-25",
    "happened": "10:00",
    "unit": "fl_oz",
}


def test_the_card_stands_before_the_form(stop: Stop) -> None:
    page = stop.client.get(f"{stop.path}incident/").content.decode()
    assert page.index("tel:911") < page.index("tel:18002221222") < page.index("<form")
    assert page.index("<b>Control.</b>") < page.index("<b>Contain.</b>") < page.index("Clean up.")
    assert 'value="2026-11-25"' in page
    assert 'value="10:00"' in page


def test_a_few_taps_report_it(stop: Stop, manager: Person) -> None:
    answer = stop.client.post(f"{stop.path}incident/", FEW_TAPS | {"client_ref": uuid.uuid4()})
    incident = Incident.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/incidents/{incident.pk}/")
    assert (incident.property, incident.visit_ref) == (stop.visit.property, str(stop.visit.ref))
    assert incident.happened_at.isoformat() == "2026-11-25T15:00:00+00:00"
    assert stop.client.get(answer["Location"]).status_code == 200
    assert client_for(manager).get(answer["Location"]).status_code == 200


def test_the_records_of_the_stop_are_offered_and_held(stop: Stop) -> None:
    stop.send(ending="another")
    page = stop.client.get(f"{stop.path}incident/").content.decode()
    record = stop.visit.applications.get().record
    assert f'name="records" value="{record.pk}"' in page
    stop.client.post(f"{stop.path}incident/", FEW_TAPS | {"records": [record.pk]})
    assert RetentionHold.objects.get().record == record


def test_what_is_wrong_stands_there_with_what_was_typed(stop: Stop) -> None:
    answer = stop.client.post(f"{stop.path}incident/", FEW_TAPS | {"amount": "lots"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "is not a number" in page
    assert "A quart on the walk." in page
    assert "<details open>" in page


def test_a_stop_of_somebody_else_is_not_found(stop: Stop, other_technician: Person) -> None:
    client = client_for(other_technician)
    assert client.get(f"{stop.path}incident/").status_code == 404
    assert client.post(f"{stop.path}incident/", FEW_TAPS).status_code == 404


def test_today_leads_to_the_sheet_of_what_is_aboard(stop: Stop, technician: Person) -> None:
    make_load(technician, stop.use)
    assert "/today/emergency.pdf" in stop.client.get("/today/").content.decode()
    answer = stop.client.get("/today/emergency.pdf")
    assert answer["Content-Type"] == "application/pdf"
    text = " ".join(PdfReader(BytesIO(answer.content)).pages[0].extract_text().split())
    assert stop.use.label_version.product.name in text
    assert "a mixed tank" in text
    assert "Terry Technician, Nov 25, 2026" in text
