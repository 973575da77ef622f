"""A record at a stop: stored once with everything that follows from it, or not at all."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from scheduling.models import VisitApplication
from scheduling.rules.visit_states import RenewalState, VisitState
from tests.factories import TODAY
from tests.scheduling.field.conftest import Stop
from tests.scheduling.field.kept import everything
from treatments.models import ApplicationRecord, LogEntry, ResidualWindow
from treatments.services import recording

pytestmark = pytest.mark.django_db


def states(stop: Stop) -> tuple[str, str]:
    stop.visit.refresh_from_db()
    stop.renewal.refresh_from_db()
    return stop.visit.state, stop.renewal.state


def test_one_record_ends_the_stop_and_the_renewal(stop: Stop) -> None:
    answer = stop.send()
    assert answer.status_code == 302
    assert answer.url == stop.path
    assert states(stop) == (VisitState.DONE, RenewalState.DONE)
    record = VisitApplication.objects.get(visit=stop.visit).record
    # 0.48 fl oz x 29,573.5295625 uL = 14,195.29 uL; 600 sq ft x 92,903.04 mm2
    assert (record.product_ul, record.area_mm2) == (14_195, 55_741_824)
    window = ResidualWindow.objects.get(treated_area__record=record)
    assert window.expires_on == TODAY + timedelta(days=90)
    assert LogEntry.objects.filter(record=record).count() == 1


def test_a_record_sent_twice_is_stored_once_and_answered_alike(stop: Stop) -> None:
    reference = str(uuid.uuid4())
    first = stop.send(client_ref=reference)
    kept = everything()
    again = stop.send(client_ref=reference)
    assert (first.status_code, first.url) == (again.status_code, again.url)
    assert everything() == kept


def test_a_reference_names_one_record_only(stop: Stop) -> None:
    reference = str(uuid.uuid4())
    stop.send(client_ref=reference, ending="another")
    kept = everything()
    answer = stop.send(client_ref=reference, product_amount="0.5")
    assert answer.status_code == 422
    assert "already names another record" in answer.content.decode()
    assert everything() == kept


def test_a_record_sent_again_to_finish_finishes_the_stop(stop: Stop) -> None:
    reference = str(uuid.uuid4())
    stop.send(client_ref=reference, ending="another")
    assert states(stop)[0] == VisitState.STARTED
    stop.send(client_ref=reference, ending="finish")
    assert states(stop) == (VisitState.DONE, RenewalState.DONE)
    assert VisitApplication.objects.filter(visit=stop.visit).count() == 1


def test_two_products_at_one_stop(stop: Stop) -> None:
    answer = stop.send(ending="another")
    assert answer.url == f"{stop.path}mix/"
    assert states(stop) == (VisitState.STARTED, RenewalState.BOOKED)
    stop.send(ending="finish")
    assert states(stop) == (VisitState.DONE, RenewalState.DONE)
    assert VisitApplication.objects.filter(visit=stop.visit).count() == 2


def test_a_record_against_the_label_is_stored_and_marked(stop: Stop) -> None:
    # at most 0.8 fl oz per 1,000 sq ft: 0.48 fl oz on 600 sq ft; 0.6 is a quarter above
    assert stop.send(product_amount="0.6").status_code == 302
    record = VisitApplication.objects.get(visit=stop.visit).record
    assert record.product_amount == "0.6"
    assert record.judgements.filter(severity="violation").exists()


def test_a_log_that_cannot_be_written_stores_nothing(
    stop: Stop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(**leaf: object) -> None:
        raise OSError("no space left on device")

    monkeypatch.setattr(recording, "append_leaf", full)
    before, records = everything(), ApplicationRecord.objects.count()
    with pytest.raises(OSError, match="no space left"):
        stop.send()
    assert everything() == before
    assert ApplicationRecord.objects.count() == records
    assert states(stop) == (VisitState.BOOKED, RenewalState.BOOKED)


def test_not_done_gives_the_renewal_back_with_the_reason(stop: Stop) -> None:
    stop.client.post(f"{stop.path}start/")
    form = {"reason": "locked", "note": "gate chained"}
    answer = stop.client.post(f"{stop.path}not-done/", form)
    assert answer.url == "/today/"
    assert states(stop) == (VisitState.NOT_DONE, RenewalState.DUE)
    assert stop.visit.ending_note == "locked: gate chained"


def test_not_done_asks_for_a_reason_that_is_on_the_list(stop: Stop) -> None:
    before = everything()
    answer = stop.client.post(f"{stop.path}not-done/", {"reason": "", "note": "gate chained"})
    assert answer.status_code == 422
    assert "gate chained" in answer.content.decode()
    assert everything() == before


def test_a_stop_with_a_record_ends_part_done(stop: Stop) -> None:
    stop.send(ending="another")
    stop.client.post(f"{stop.path}not-done/", {"reason": "weather", "note": ""})
    # the one zone that was due was treated: the rest of the work is left, the renewal is not
    assert states(stop) == (VisitState.PART_DONE, RenewalState.DONE)


def test_starting_twice_keeps_the_first_time(stop: Stop) -> None:
    stop.client.post(f"{stop.path}start/")
    stop.visit.refresh_from_db()
    started = stop.visit.started_at
    stop.client.post(f"{stop.path}start/")
    stop.visit.refresh_from_db()
    assert stop.visit.started_at == started
