"""A thumb that taps Save twice: one record, one end of the stop, the same answer for both."""

from __future__ import annotations

import uuid
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from accounts.models import Person
from scheduling.models import VisitApplication
from scheduling.rules.visit_states import VisitState
from tests.factories import client_for
from tests.scheduling.field.conftest import Stop
from treatments.models import LogEntry

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("ending", ["finish", "another"])
def test_save_tapped_twice_stores_one_record(stop: Stop, technician: Person, ending: str) -> None:
    reference, gate = str(uuid.uuid4()), Barrier(2)

    def tap() -> tuple[int, str]:
        try:
            client = client_for(technician)
            gate.wait(timeout=20)
            answer = stop.send(client=client, client_ref=reference, ending=ending)
            return answer.status_code, answer.headers.get("Location", "")
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        first, second = (one.result() for one in [pool.submit(tap), pool.submit(tap)])
    assert first == second
    assert first[0] == 302
    assert LogEntry.objects.count() == 1
    assert VisitApplication.objects.filter(visit=stop.visit).count() == 1
    stop.visit.refresh_from_db()
    assert stop.visit.state == (VisitState.DONE if ending == "finish" else VisitState.STARTED)
