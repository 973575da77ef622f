"""Words of incidents are forgotten after their term: early, open, held refused; the log whole.

Terms are house rules; check A22 of reference/regulations.md 7.7. The database's own guard counts
by its own clock, so the incidents are years back.
"""

from __future__ import annotations

import json
import uuid
from datetime import date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, IntegrityError, transaction

from accounts.models import OpenItem, Person
from tests.attacks import sql
from tests.treatments.conftest import NOW, House
from tests.treatments.incident_cases import spill
from tests.treatments.test_log import behind_the_guards
from treatments.models import Incident, IncidentAddendum, IncidentPersonalValue, LogEntry
from treatments.rules.incident_keeping import (
    KeptIncident,
    forgettable_incidents,
    incident_last_day,
)
from treatments.selectors.incident_page import incident_page
from treatments.selectors.log import verify
from treatments.services.holds import release_hold, set_hold
from treatments.services.incidents import (
    add_to_incident,
    close_incident,
    reopen_incident,
    report_incident,
)
from treatments.services.log import append_leaf
from treatments.services.purging import look_for_early_purges, purge_records
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
THEN = datetime.fromisoformat("2016-03-01T20:00:00+00:00")
HOUR = timedelta(hours=1)
TODAY = NOW.date()


@pytest.mark.parametrize(
    ("kept", "day"),
    [
        (KeptIncident(1, date(2016, 3, 1)), date(2023, 12, 31)),
        (KeptIncident(1, date(2016, 12, 31)), date(2023, 12, 31)),
        (KeptIncident(1, date(2017, 1, 1)), date(2024, 12, 31)),
        (KeptIncident(1, date(2016, 3, 1), date(2022, 1, 1)), date(2023, 12, 31)),
        (KeptIncident(1, date(2016, 3, 1), date(2025, 5, 5)), date(2025, 5, 5)),
    ],
)
def test_the_last_day_is_the_longest(kept: KeptIncident, day: date) -> None:
    assert incident_last_day(kept) == day


@pytest.mark.parametrize(
    ("changes", "before", "is_free"),
    [
        ({}, date(2023, 12, 31), False),  # its last day is still kept
        ({}, date(2024, 1, 1), True),
        ({"is_open": True}, date(2030, 1, 1), False),
        ({"is_held": True}, date(2030, 1, 1), False),
    ],
)
def test_only_closed_and_unheld_past_its_day(
    changes: dict[str, bool], before: date, is_free: bool
) -> None:
    kept = KeptIncident(7, date(2016, 3, 1), **{"is_open": False} | changes)
    assert (7 in forgettable_incidents([kept], before)) == is_free


def old_one(house: House, manager: Person, *, is_closed: bool = True, **changes: Any) -> Incident:
    """A spill of Mar 1, 2016, added to once, and closed the same day."""
    about = spill(house, happened_at=THEN, **changes)
    incident = report_incident(incident=about, by=house.technician, now=THEN + HOUR)
    added = {"incident_id": incident.pk, "client_ref": uuid.uuid4(), "now": THEN + 2 * HOUR}
    add_to_incident(**added, words="Ms. Ellwood called again.", by=house.technician)
    if is_closed:
        turned(close_incident, incident, manager, at=THEN + 3 * HOUR)
    return incident


def turned(service: Any, incident: Incident, by: Person, at: datetime) -> None:
    """Close or open again."""
    service(incident_id=incident.pk, client_ref=uuid.uuid4(), words="Said.", by=by, now=at)


def purge(before: date = TODAY, by: Person | None = None) -> int:
    """How many incidents were forgotten."""
    return sum(one.incidents for one in purge_records(before=before, by=by, now=NOW))


def words_left(incident: Incident) -> int:
    entries = IncidentAddendum.objects.filter(incident=incident).exclude(words="")
    return incident.personal_values.count() + entries.count()


def test_past_its_day_the_words_go_and_the_log_verifies(house: House, manager: Person) -> None:
    incident = old_one(house, manager)
    assert words_left(incident) == 5
    assert (purge(date(2023, 12, 31)), words_left(incident)) == (0, 5)
    assert (purge(by=manager), words_left(incident)) == (1, 0)
    assert not IncidentAddendum.objects.exclude(words="", salt=b"").exists()
    assert verify(house.place.branch_id).is_whole
    assert purge() == 0
    assert look_for_early_purges(now=NOW) == 0
    page = incident_page(manager, incident.pk, NOW)
    assert "No longer kept" in dict(page.facts)["What happened"]
    assert all("No longer kept" in entry.words for entry in page.entries)


def test_the_leaf_holds_digests_rule_and_actor(house: House, manager: Person) -> None:
    incident = old_one(house, manager)
    report = json.loads(bytes(LogEntry.objects.get(kind="incident").leaf))
    purge(by=manager)
    raw = bytes(LogEntry.objects.get(kind="purge").leaf)
    said = json.loads(raw)
    (row,) = said["payload"]["incidents"]
    assert said["actor"] == manager.pk
    assert row["digests"] == report["payload"]["personal"]
    assert (row["incident_id"], row["kept_through"]) == (incident.pk, "2023-12-31")
    assert len(row["entries"]) == 2
    assert b"Ellwood" not in raw
    assert "without a hold" in said["payload"]["rule"]


def test_an_open_one_and_a_later_entry_keep_the_words(house: House, manager: Person) -> None:
    incident = old_one(house, manager, is_closed=False)
    assert purge() == 0
    turned(close_incident, incident, manager, at=NOW)
    assert purge() == 0  # seven years from the last entry


def test_a_hold_of_its_record_keeps_the_words(house: House, manager: Person) -> None:
    work = house.application(started_at=THEN - 2 * HOUR, finished_at=THEN - HOUR)
    record = record_application(application=work, by=house.technician, now=THEN).record
    incident = old_one(house, manager, record_ids=(record.pk,))
    hold = set_hold(record_id=record.pk, reason="A claim.", by=manager, now=NOW)
    assert purge() == 0
    assert is_refused_by_the_database(incident)
    release_hold(hold_id=hold.pk, reason="Settled.", by=manager, now=NOW)
    assert (purge(), words_left(incident)) == (1, 0)
    assert verify(house.place.branch_id).is_whole


def is_refused_by_the_database(incident: Incident) -> bool:
    """Whether every way around the service is refused: delete, blanking, another change."""
    rows = IncidentPersonalValue.objects.filter(incident=incident)
    entries = IncidentAddendum.objects.filter(incident=incident)
    ways = (
        lambda: rows._raw_delete(DEFAULT_DB_ALIAS),
        lambda: sql(f"DELETE FROM treatments_incidentpersonalvalue WHERE id = {rows[0].pk}"),
        lambda: entries.update(words="", salt=b""),
    )
    return all(_refused(way) for way in ways)


def _refused(way: Any) -> bool:
    try:
        with transaction.atomic():
            way()
    except IntegrityError:
        return True
    return False


def test_the_database_refuses_what_is_early_or_open(house: House, manager: Person) -> None:
    is_open = old_one(house, manager, is_closed=False)
    young = report_incident(incident=spill(house), by=house.technician, now=NOW)
    for words in ("a", "b"):
        add = {"incident_id": young.pk, "client_ref": uuid.uuid4(), "words": words, "now": NOW}
        add_to_incident(**add, by=house.technician)
    turned(close_incident, young, manager, at=NOW)
    assert is_refused_by_the_database(is_open)
    assert is_refused_by_the_database(young)


@pytest.mark.parametrize(
    "changes",
    [
        {"words": "Better."},
        {"words": ""},  # and its salt stays
        {"words": "", "salt": b"", "kind": "reopening"},
        {"words": "", "salt": b"", "created_at": NOW},
        {"words": "", "salt": b"", "created_by_id": None},
    ],
)
def test_past_its_day_an_entry_is_emptied_and_not_changed(
    house: House, manager: Person, changes: dict[str, Any]
) -> None:
    incident = old_one(house, manager)
    entries = IncidentAddendum.objects.filter(incident=incident)
    assert _refused(lambda: entries.update(**changes))
    assert words_left(incident) == 5


@pytest.mark.parametrize("what", ["value", "entry"])
def test_what_is_gone_without_a_purge_is_a_difference(
    house: House, manager: Person, what: str
) -> None:
    incident = old_one(house, manager)
    if what == "value":
        incident.personal_values.filter(field="whom").delete()
    else:
        IncidentAddendum.objects.filter(incident=incident).update(words="", salt=b"")
    assert not verify(house.place.branch_id).is_whole


def test_a_purge_leaf_cannot_stand_for_changed_words(house: House, manager: Person) -> None:
    old_one(house, manager)
    behind_the_guards("UPDATE treatments_incidentaddendum SET words = 'x' WHERE kind = 'addition'")
    purge()
    assert not verify(house.place.branch_id).is_whole


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("UPDATE treatments_incident SET created_at = '2021-01-01 00:00:00+00:00'", "before the"),
        ("DELETE FROM treatments_incidentaddendum WHERE kind = 'closing'", "while it was open"),
    ],
)
def test_a22_finds_what_went_too_early(
    house: House, manager: Person, change: str, says: str
) -> None:
    old_one(house, manager)
    purge()
    behind_the_guards(change)
    for _ in range(2):
        assert look_for_early_purges(now=NOW) == 1
    assert says in OpenItem.objects.get(code="purged_early").sentence


def test_a_reopened_one_is_kept_again(house: House, manager: Person) -> None:
    incident = old_one(house, manager)
    turned(reopen_incident, incident, manager, at=THEN + 4 * HOUR)
    assert (purge(), words_left(incident)) == (0, 6)


@pytest.mark.parametrize(
    "incidents", ["x", [1], [{}], [{"incident_id": 1, "digests": 2, "entries": {"x": 1}}]]
)
def test_a_strange_purge_leaf_excuses_nothing(
    house: House, manager: Person, incidents: object
) -> None:
    incident = old_one(house, manager)
    branch_id = house.place.branch_id
    payload = {"incidents": incidents}
    append_leaf(branch_id=branch_id, kind="purge", payload=payload, record=None, by=None, now=NOW)
    assert verify(branch_id).is_whole
    incident.personal_values.all().delete()
    assert not verify(branch_id).is_whole


def test_the_command_counts_incidents(house: House, manager: Person) -> None:
    old_one(house, manager)
    out = StringIO()
    call_command("purge_records", before=date(2024, 1, 1), by=manager.email, stdout=out)
    assert "forgot 5 personal values of 0 records and 1 incident." in out.getvalue()
