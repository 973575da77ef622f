"""Names beside sightings are forgotten after their term; the sighting stays, the log says so.

The term is a house rule: to the end of the seventh year after the sighting.
"""

from __future__ import annotations

import json
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from accounts.models import AuditEvent, Person
from sites.models import Sighting, SightingReporter
from sites.rules.sightings import names_kept_since
from tests.treatments.conftest import NOW, House
from treatments.models import LogEntry
from treatments.selectors.log import verify
from treatments.services.purging import purge_records


@pytest.mark.parametrize(
    ("before", "kept_since"),
    [
        (date(2026, 1, 1), date(2019, 1, 1)),  # what was seen in 2018 was kept through 2025
        (date(2025, 12, 31), date(2018, 1, 1)),  # its last day is still kept
        (date(2026, 11, 25), date(2019, 1, 1)),
        (date(5, 1, 1), date(1, 1, 1)),
    ],
)
def test_a_name_is_kept_to_the_end_of_the_seventh_year(before: date, kept_since: date) -> None:
    assert names_kept_since(before) == kept_since


def seen(house: House, on: date, name: str) -> Sighting:
    about: dict[str, Any] = {"what": "Ants", "spot": "Kitchen", "how_many": "few", "way": "link"}
    once = f"00000000-0000-4000-8000-{on:%Y%m%d}0000"
    told = Sighting.objects.create(property=house.place, seen_on=on, once=once, **about)
    SightingReporter.objects.create(sighting=told, name=name)
    return told


@pytest.mark.django_db
def test_names_go_and_sightings_stay(house: House, manager: Person) -> None:
    old, young = seen(house, date(2018, 12, 31), "Pat"), seen(house, date(2019, 1, 1), "Kim")
    said = StringIO()
    call_command("purge_records", "--before", "2026-01-01", "--dry-run", stdout=said)
    assert "would forget 1 personal value of 0 records and of 1 sighting." in said.getvalue()
    assert SightingReporter.objects.count() == 2
    purge_records(before=date(2026, 1, 1), by=manager, now=NOW)
    assert [one.name for one in SightingReporter.objects.all()] == ["Kim"]
    assert {one.pk for one in Sighting.objects.all()} == {old.pk, young.pk}
    leaf = bytes(LogEntry.objects.get(kind="purge").leaf)
    payload = json.loads(leaf)["payload"]
    assert payload["sightings"] == [old.pk]
    assert "seventh year" in payload["rule"]
    assert b"Pat" not in leaf
    assert AuditEvent.objects.get(act="purge_sightings").details["sightings"] == [old.pk]
    assert verify(house.place.branch_id).is_whole
    purge_records(before=date(2026, 1, 1), by=manager, now=NOW)
    assert LogEntry.objects.filter(kind="purge").count() == 1
