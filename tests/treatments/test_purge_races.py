"""A hold and a purge at the same moment, and one report sent four times."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from accounts.models import Person
from tests.treatments.conftest import NOW, House
from tests.treatments.incident_cases import spill
from tests.treatments.test_purging import LONG_AGO, kept, purge, recorded
from treatments.models import Incident, LogEntry
from treatments.selectors.log import verify
from treatments.selectors.purges import early_purges
from treatments.services.holds import set_hold
from treatments.services.incidents import report_incident

pytestmark = [pytest.mark.engine, pytest.mark.django_db(transaction=True)]
ROUNDS, SENDERS = 4, 4


def together(*acts: Callable[[], object]) -> None:
    """Run every act in a thread of its own, begun at the same moment."""
    gate = Barrier(len(acts))

    def run(act: Callable[[], object]) -> None:
        try:
            gate.wait(timeout=20)
            act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        list(pool.map(run, acts))


def test_a_hold_keeps_all_or_comes_too_late_for_all(house: House, manager: Person) -> None:
    for _ in range(ROUNDS):
        record = recorded(house, LONG_AGO)

        def hold(pk: int = record.pk) -> None:
            set_hold(record_id=pk, reason="A claim.", by=manager, now=NOW)

        together(hold, purge)
        assert kept(record) in (0, 4)
        assert record.holds.count() == 1
        purge()
    assert verify(house.place.branch_id).is_whole
    assert early_purges(house.place.branch_id) == []


def test_two_purges_forget_once(house: House) -> None:
    record = recorded(house, LONG_AGO)
    together(purge, purge)
    assert kept(record) == 0
    assert LogEntry.objects.filter(kind="purge").count() == 1
    assert verify(house.place.branch_id).is_whole


def test_one_report_sent_four_times_is_kept_once(house: House) -> None:
    incident = spill(house)

    def send() -> None:
        report_incident(incident=incident, by=house.technician, now=NOW)

    together(*[send] * SENDERS)
    assert Incident.objects.count() == LogEntry.objects.filter(kind="incident").count() == 1
    assert verify(house.place.branch_id).is_whole
