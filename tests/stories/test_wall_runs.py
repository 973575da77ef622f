"""A band of four walls: three treated, one left out for a fence, treated a week later.

Sizes by hand: 120 ft x (2 up + 3 out) = 600 sq ft; without the north wall of 40 ft, 400 sq ft.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterator
from datetime import date
from io import BytesIO
from typing import Any

import pytest
import time_machine
from pypdf import PdfReader

from accounts.models import Branch, Person
from scheduling.models import Visit
from scheduling.rules.visit_states import RenewalState
from sites.models import TreatableZone, WallRun
from tests.attacks import DELETES, UPDATES, refused
from tests.factories import client_for, make_label, make_visit
from tests.scheduling.field.conftest import TYPED
from tests.scheduling.views.rows import due_place
from tests.stories.test_safety_questions import words
from treatments.models import ApplicationRecord, LogEntry, TreatedRun, ZoneProtection
from treatments.selectors.log_leaves import row_differences
from treatments.selectors.windows import protection_drift, windows_of

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
RUNS = "north wall 40\neast wall 20\nsouth wall 40 ft\ngarage side, 20"


@pytest.fixture(autouse=True)
def _ten_in_the_morning() -> Iterator[None]:
    with time_machine.travel("2026-11-25T15:00:00Z", tick=False):
        yield


@pytest.fixture
def visit(branch_ohio: Branch, technician: Person) -> Visit:
    renewal = due_place(branch_ohio, technician, zones=1, state=RenewalState.BOOKED)
    return make_visit(renewal.property, technician, renewal=renewal)


def with_runs(visit: Visit, office: Person) -> TreatableZone:
    """The zone with its runs, entered on its page by the office."""
    zone: TreatableZone = visit.property.zones.get()
    client, path = client_for(office), f"/zones/{zone.pk}/edit/"
    form = dict(client.get(path).context["form"].initial) | {"runs": "north wall 40\neast wall 70"}
    form = {name: value for name, value in form.items() if value not in (False, None)}
    wrong = client.post(path, form)
    assert wrong.status_code == 422
    assert "add up to 110 ft" in words(wrong.content)
    assert client.post(path, form | {"runs": RUNS}).status_code == 302
    assert "garage side 20" in client.get(path).content.decode()
    return zone


def answers(left_out: dict[str, str]) -> dict[str, str]:
    rows = WallRun.objects.values_list("pk", "name")
    return {f"run_{pk}": left_out.get(name, "done") for pk, name in rows}


def typed(left_out: dict[str, str], **more: Any) -> dict[str, Any]:
    return (
        TYPED
        | {"client_ref": str(uuid.uuid4()), "product_amount": "0.3"}
        | answers(left_out)
        | more
    )


def test_a_run_left_out_stays_due(
    visit: Visit, office: Person, manager: Person, technician: Person
) -> None:
    zone, client = with_runs(visit, office), client_for(technician)
    before = ZoneProtection.objects.get(zone=zone)
    choice = f"?zone={zone.pk}&use={make_label().pk}&tank=1"
    path = f"/stops/{visit.pk}/record/{choice}"
    page = words(client.get(path).content)
    assert "north wall, 40 ft" in page
    assert "Left out: fence" in page
    unsaid = dict.fromkeys(answers({}), "")
    assert client.post(path, typed({}) | unsaid).status_code == 422
    none = dict.fromkeys(("north wall", "east wall", "south wall", "garage side"), "wet")
    assert "Leave the zone out" in words(client.post(path, typed(none)).content)
    answer = client.post(path, typed({"north wall": "fence"}))
    assert answer.status_code == 302, words(answer.content)

    record = ApplicationRecord.objects.get(visit_ref=str(visit.ref))
    # 80 ft x 5 ft = 400 sq ft x 92,903.04 mm2; 80 ft x 304.8 mm
    assert (record.area_mm2, record.length_mm) == (37_161_216, 24_384)
    kept = list(TreatedRun.objects.values_list("name", "length", "unit", "reason"))
    assert kept[0] == ("north wall", "40", "ft", "fence")
    assert [name for name, *_, reason in kept if not reason] == [
        "east wall",
        "south wall",
        "garage side",
    ]
    payload = json.loads(bytes(LogEntry.objects.get(record=record).leaf))["payload"]
    assert payload["runs"][0]["reason"] == "fence"
    assert not list(row_differences(record.branch_id, None))

    # what was in force before still is: the zone stays due, its renewal is open again
    assert ZoneProtection.objects.get(zone=zone).window_id == before.window_id
    visit.renewal.refresh_from_db()
    assert visit.renewal.state == RenewalState.DUE
    assert protection_drift() == []
    stop = words(client.get(f"/stops/{visit.pk}/").content)
    assert "still due: north wall (fence)" in stop
    assert 'class="l-part"' in client.get(f"/stops/{visit.pk}/").content.decode()
    shown = words(client_for(manager).get(f"/record/{record.pk}/").content)
    assert "north wall, 40 ft (left out: fence)" in shown
    assert "400 sq ft" in shown
    notice = PdfReader(BytesIO(client.get(f"/visits/{visit.pk}/notice.pdf").content))
    paper = " ".join(" ".join(one.extract_text() for one in notice.pages).split())
    assert "not treated, and why" in paper.casefold()
    assert "north wall" in paper.casefold()
    assert "fence" in paper


def test_the_run_left_out_is_treated_later(
    visit: Visit, office: Person, technician: Person
) -> None:
    zone, client = with_runs(visit, office), client_for(technician)
    use = make_label(use={"min_interval_days": 0})
    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
    client.post(path, typed({"north wall": "fence"}))
    rest = {"east wall": "other", "south wall": "other", "garage side": "other"}
    with time_machine.travel("2026-12-02T15:00:00Z", tick=False):
        later = make_visit(visit.property, technician, date(2026, 12, 2))
        path = f"/stops/{later.pk}/record/?zone={zone.pk}&use={use.pk}&tank=1"
        answer = client.post(path, typed(rest, product_amount="0.15"))
        assert answer.status_code == 302, words(answer.content)
        # the walls of Nov 25 lapse first: 90 days later
        [held] = ZoneProtection.objects.filter(zone=zone, counts=True)
        assert held.expires_on == date(2027, 2, 23)
        parts = [one.is_part for one in windows_of([zone.pk])[zone.pk]]  # type: ignore[attr-defined]
    assert parts[-2:] == [False, True]
    assert protection_drift() == []


def test_runs_of_a_record_never_change(visit: Visit, office: Person, technician: Person) -> None:
    zone, client = with_runs(visit, office), client_for(technician)
    path = f"/stops/{visit.pk}/record/?zone={zone.pk}&use={make_label().pk}&tank=1"
    client.post(path, typed({"north wall": "dog"}))
    row = TreatedRun.objects.get(name="north wall")
    for attack in (*UPDATES, *DELETES):
        refused(attack, row)
