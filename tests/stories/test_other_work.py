"""Work without a product, from the stop to the log, the notice and the use log."""

from __future__ import annotations

import json
import uuid
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from accounts.models import Person
from scheduling.models import Visit
from scheduling.rules.visit_states import VisitState
from tests.factories import client_for, make_pest, make_zone
from tests.stories.test_safety_questions import _ten_in_the_morning, visit, words
from treatments.models import ApplicationRecord, LogEntry, ResidualWindow
from treatments.selectors.log import verify

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
__all__ = ["_ten_in_the_morning", "visit"]
DONE = "Vacuumed 3 windows; sealed a gap of 8 mm at the sill."


def typed(visit: Visit, **more: Any) -> dict[str, Any]:
    zone = make_zone(visit.property, f"Sun room {uuid.uuid4().hex[:4]}")
    return {
        "client_ref": str(uuid.uuid4()),
        "kinds": ["vacuuming", "sealing"],
        "zones": [zone.pk],
        "pests": [make_pest().pk],
        "done": DONE,
        "pieces": "40",
        "minutes": "12",
        "length": "0.5",
        "length_unit": "ft",
        "started": "09:10",
        "finished": "09:40",
        "notes": "Customer was shown the gap.",
        "ending": "finish",
    } | more


def test_other_work_is_recorded_from_the_stop(
    visit: Visit, technician: Person, manager: Person
) -> None:
    client, office = client_for(technician), client_for(manager)
    assert "Record other work" in words(client.get(f"/stops/{visit.pk}/").content)
    path, form = f"/stops/{visit.pk}/other-work/", typed(visit)
    page = words(client.get(path).content)
    for said in ("Vacuuming", "Trapping", "Sealing", "Sanitation", "Devices checked"):
        assert said in page

    empty = client.post(path, form | {"done": "", "kinds": []})
    assert empty.status_code == 422
    assert "say what was done" in words(empty.content)
    assert "Customer was shown the gap." in words(empty.content)  # nothing typed is lost
    answer = client.post(path, form)
    assert (answer.status_code, answer.url) == (302, f"/stops/{visit.pk}/")
    assert client.post(path, form).status_code == 302  # sent twice is stored once

    record = ApplicationRecord.objects.get()
    assert (record.method, record.work_kinds) == ("no_product", ["vacuuming", "sealing"])
    assert (record.product_name, record.product_ul, record.finished_ul) == ("", None, None)
    assert not record.judgements.exists()
    assert not ResidualWindow.objects.filter(treated_area__record=record).exists()
    visit.refresh_from_db()
    assert visit.state == VisitState.DONE

    leaf = bytes(LogEntry.objects.get(record=record).leaf)
    payload = json.loads(leaf)["payload"]
    assert payload["record"]["work_kinds"] == ["vacuuming", "sealing"]
    assert "work_done" in payload["personal"]
    assert b"Vacuumed" not in leaf  # it may name somebody: only its digest
    assert not verify(record.branch_id).differences

    shown = words(office.get(f"/record/{record.pk}/").content)
    assert "Vacuuming, sealing" in shown
    assert f"40 pieces, 12 min, 0.5 ft. {DONE}" in shown
    here = words(office.get(f"/properties/{visit.property_id}/").content)
    assert f"Vacuuming, sealing 40 pieces, 12 min, 0.5 ft. {DONE}" in here
    assert "Vacuuming, sealing" in words(office.get("/use-log/").content)
    notice = PdfReader(BytesIO(client.get(f"/visits/{visit.pk}/notice.pdf").content))
    paper = " ".join(page.extract_text() for page in notice.pages)
    assert "Vacuuming, sealing" in paper
    assert "Vacuumed 3 windows" in paper


def test_work_of_no_kind_is_refused(visit: Visit, technician: Person) -> None:
    client, path = client_for(technician), f"/stops/{visit.pk}/other-work/"
    for wrong in (
        {"kinds": ["juggling"]},
        {"zones": []},
        {"done": " "},
        {"finished": "09:00"},
        {"pieces": "-1"},
        {"minutes": "many"},
        {"length": "-2"},
    ):
        assert client.post(path, typed(visit) | wrong).status_code == 422
    assert not ApplicationRecord.objects.exists()
