"""What hangs on a record under the roof follows its corrections: visit, renewals, notice."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from accounts.models import Person
from scheduling.models import Renewal, RenewalZone, VisitApplication
from scheduling.rules.visit_states import RenewalState
from scheduling.services.correcting import approve_request, fill_gap_of
from scheduling.services.sweep import sweep
from tests.factories import make_visit
from tests.treatments.conftest import NOW, House, house, make_house
from treatments.models import ApplicationRecord
from treatments.selectors.windows import windows_of, windows_of_record
from treatments.services.corrections import ask_correction, ask_void
from treatments.services.recording import record_application

__all__ = ["house", "make_house"]
pytestmark = [pytest.mark.engine, pytest.mark.django_db]
DUE = NOW + timedelta(days=85)  # 90 days of claim, 14 of lead time


def recorded(house: House, days: int = 0, visit_ref: str = "") -> ApplicationRecord:
    at = NOW + timedelta(days=days)
    application = house.application(
        started_at=at - timedelta(minutes=40), finished_at=at, visit_ref=visit_ref
    )
    return record_application(application=application, by=house.technician, now=at).record


def due(house: House) -> Renewal:
    sweep(today=DUE.date(), now=DUE)
    return Renewal.objects.open().get(property=house.place)


def test_the_new_entry_is_the_visit_s(house: House) -> None:
    visit = make_visit(house.place, house.technician)
    record = recorded(house, visit_ref=str(visit.ref))
    VisitApplication.objects.create(visit=visit, record=record)
    after = fill_gap_of(
        record_id=record.pk,
        facts={"wind_mph": "4"},
        by=house.technician,
        now=NOW,
        client_ref=uuid.uuid4(),
    )
    assert VisitApplication.objects.get(record=after).visit == visit


def test_a_waiting_renewal_goes_over_to_the_new_window(house: House, manager: Person) -> None:
    record = recorded(house)
    renewal = due(house)
    asked = ask_correction(
        record_id=record.pk,
        facts={"wind_mph": "4"},
        reason="Read late.",
        by=house.technician,
        now=DUE,
    )
    (after,) = approve_request(request_id=asked.pk, by=manager, now=DUE)
    [line] = RenewalZone.objects.filter(renewal=renewal)
    assert line.window in windows_of_record(after.pk)
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.DUE and Renewal.objects.count() == 1


def test_a_voided_record_takes_its_renewal_with_it(house: House, manager: Person) -> None:
    record = recorded(house)
    renewal = due(house)
    asked = ask_void(record_id=record.pk, reason="Never done.", by=house.technician, now=DUE)
    approve_request(request_id=asked.pk, by=manager, now=DUE)
    renewal.refresh_from_db()
    assert renewal.state == RenewalState.WITHDRAWN
    assert windows_of([house.band.pk]) == {}


def test_what_a_voided_record_had_followed_is_due_again(house: House, manager: Person) -> None:
    recorded(house)
    first = due(house)
    second = recorded(house, days=85)
    sweep(today=DUE.date(), now=DUE)
    first.refresh_from_db()
    assert first.state == RenewalState.DONE
    asked = ask_void(record_id=second.pk, reason="Never done.", by=house.technician, now=DUE)
    approve_request(request_id=asked.pk, by=manager, now=DUE)
    again = Renewal.objects.open().get(property=house.place)
    assert again.lapses_on == first.lapses_on
