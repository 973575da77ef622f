"""The import on both engines: the whole file, twice, and two at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier

import pytest
from django.db import connection

from scheduling.models import RenewalZone
from scheduling.services.import_report import ImportReport
from scheduling.services.importing import import_accounts
from scheduling.services.sweep import sweep
from sites.models import Property, TreatableZone
from tests.factories import TODAY, make_branch
from tests.scheduling.sheets import many
from treatments.models import HistoricTreatment

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)


def take(raw: bytes) -> ImportReport:
    return import_accounts(raw=raw, file_name="firm.csv", by=None, today=TODAY, now=NOW)


def test_six_hundred_rows_are_stored_and_then_known() -> None:
    assert take(many(600)).is_stored
    stored = (Property.objects.count(), TreatableZone.objects.count())
    assert (*stored, HistoricTreatment.objects.count()) == (200, 600, 600)
    assert take(many(600)).is_unchanged


def test_what_was_imported_is_what_the_sweep_opens() -> None:
    take(many(30))
    # September 10 and 90 days lapse on December 9, 14 days from now: all ten properties
    assert (sweep(today=TODAY, now=NOW).opened, RenewalZone.objects.count()) == (10, 30)


def _at_once(gate: Barrier) -> ImportReport:
    try:
        gate.wait(timeout=20)
        return take(many(90))
    finally:
        connection.close()


@pytest.mark.django_db(transaction=True)
def test_of_two_imports_at_once_the_second_finds_everything_known() -> None:
    make_branch("Columbus", "OH")
    gate = Barrier(2)
    with ThreadPoolExecutor(2) as pool:
        tries = [pool.submit(_at_once, gate) for _ in range(2)]
        reports = [one.result() for one in tries]
    assert sorted(one.is_stored for one in reports) == [False, True]
    assert sorted(one.is_unchanged for one in reports) == [False, True]
    assert TreatableZone.objects.count() == 90
