"""Incidents: reported once, completed later, the agency's clock, in the log, never written over."""

from __future__ import annotations

import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import DEFAULT_DB_ALIAS, IntegrityError, transaction
from django.http import Http404

from accounts.models import AuditEvent, OpenItem, Person
from accounts.refusals import Refused
from tests.factories import make_record, make_zone
from tests.treatments.conftest import NOW, House
from tests.treatments.incident_cases import reported, spill, told
from tests.treatments.test_log import behind_the_guards
from treatments.models import Incident, IncidentAddendum, IncidentPersonalValue, LogEntry
from treatments.rules.applications import Entered
from treatments.rules.incidents import NewNotice
from treatments.selectors.incidents import incident_for, incident_row
from treatments.selectors.log import verify
from treatments.services.incidents import (
    add_to_incident,
    close_incident,
    flag_late_notices,
    give_notice,
    reopen_incident,
    report_incident,
)
from treatments.services.log import append_leaf
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
HOUR = timedelta(hours=1)


@pytest.fixture
def boston(make_house: Any) -> House:
    """A house in Massachusetts, where the clock was read: 333 CMR 10.14."""
    house: House = make_house(state="MA", city="Boston")
    return house


def open_codes() -> set[str]:
    return set(OpenItem.objects.filter(closed_at=None).values_list("code", flat=True))


def test_a_report_is_a_leaf_without_a_name_and_an_audit_event(house: House) -> None:
    incident = reported(house)
    leaf = LogEntry.objects.get(kind="incident")
    said = json.loads(bytes(leaf.leaf))
    assert said["payload"]["incident"]["id"] == incident.pk
    assert set(said["payload"]["personal"]) == {"what", "whom", "done", "form"}
    assert "Ellwood" not in json.dumps(said)
    assert said["actor"] == house.technician.pk
    event = AuditEvent.objects.get(act="report_incident")
    assert event.thing == f"treatments.incident:{incident.pk}"
    assert verify(house.place.branch_id).is_whole


def test_product_and_number_are_frozen(house: House) -> None:
    incident = reported(house)
    assert (incident.product_name, incident.registration_number) == (
        "Demonstration A SC",
        "99999-101",
    )
    assert (incident.amount, incident.amount_unit, incident.state) == ("0.5", "gal", "OH")


def test_the_same_report_again_is_a_replay_and_another_under_its_reference_refused(
    house: House,
) -> None:
    first = spill(house)
    for _ in range(2):
        report_incident(incident=first, by=house.technician, now=NOW)
    assert Incident.objects.count() == LogEntry.objects.count() == 1
    other = spill(house, client_ref=first.client_ref, what="Something else.")
    with pytest.raises(Refused) as refused:
        report_incident(incident=other, by=house.technician, now=NOW)
    assert refused.value.code == "reused_reference"


@pytest.mark.parametrize(
    ("changes", "field", "says"),
    [
        ({"kind": "fire"}, "kind", "choose one"),
        ({"what": "  "}, "what", "what happened"),
        ({"property_id": None}, "where", "Say where"),
        ({"happened_at": NOW + HOUR}, "happened", "not come yet"),
        ({"happened_at": NOW - timedelta(days=4000)}, "happened", "Check the year"),
        ({"amount": Entered("half", "gal")}, "amount", "not a number"),
        ({"amount": Entered("-1", "gal")}, "amount", "below zero"),
        ({"done": ("prayed",)}, "done", "from the list"),
        ({"care": "magic"}, "care", "choose one"),
        ({"whom": "x" * 4001}, "whom", "longer than 4000"),
        ({"vehicle_id": 99999}, "vehicle", "Choose a vehicle"),
        ({"label_version_id": 99999}, "product", "Choose a product"),
        ({"record_ids": (99999,)}, "records", "not of this place"),
    ],
)
def test_what_cannot_be_true_is_refused_at_its_field(
    house: House, changes: dict[str, Any], field: str, says: str
) -> None:
    with pytest.raises(Refused) as refused:
        reported(house, **changes)
    assert refused.value.facts["field"] == field
    assert says in refused.value.sentence
    assert not Incident.objects.exists()


def test_a_record_of_another_house_is_refused(house: House, make_house: Any) -> None:
    other = make_house(street="9 Other Lane")
    record = make_record(other.band, house.technician, house.use)
    with pytest.raises(Refused):
        reported(house, record_ids=(record.pk,))


@pytest.mark.parametrize("role", ["office", "stranger"])
def test_office_and_strangers_do_not_report(
    house: House, role: str, request: pytest.FixtureRequest
) -> None:
    by: Person = request.getfixturevalue(role)
    with pytest.raises(Refused):
        report_incident(incident=spill(house), by=by, now=NOW)


def test_without_a_rule_the_item_says_ask_the_agency(house: House) -> None:
    incident = reported(house)
    item = OpenItem.objects.get(code="incident_notice")
    assert "No rule was read for OH: ask the agency" in item.sentence
    assert incident.notice_due_at is None
    assert flag_late_notices(now=NOW + timedelta(days=30)) == 0


# Check A20 of reference/regulations.md 7.7: an incident without agency notice inside 48 h (MA)
@pytest.mark.parametrize(
    ("told_after", "looked_after", "items", "words"),
    [
        (None, 10 * HOUR, {"incident_notice"}, "38 h 0 min left"),
        (None, 48 * HOUR, {"incident_notice"}, "0 min left"),
        (None, 49 * HOUR, {"incident_notice", "incident_notice_late"}, "1 h 0 min over"),
        (47 * HOUR, 49 * HOUR, set(), "Given in time"),
        (48 * HOUR, 90 * HOUR, set(), "Given in time"),
        (50 * HOUR, 90 * HOUR, {"incident_notice_late"}, "Given 2 h 0 min late"),
    ],
)
def test_the_clock_of_massachusetts(
    boston: House,
    manager: Person,
    told_after: timedelta | None,
    looked_after: timedelta,
    items: set[str],
    words: str,
) -> None:
    incident = reported(boston, happened_at=NOW)
    if told_after is not None:
        told(incident, manager, given_at=NOW + told_after)
    now = NOW + looked_after
    flag_late_notices(now=now)
    assert open_codes() == items
    assert incident_row(incident_for(manager, incident.pk), now).reading.words == words
    assert verify(boston.place.branch_id).is_whole


def test_the_item_names_the_moment_and_the_clause(boston: House) -> None:
    reported(boston, happened_at=NOW)
    sentence = OpenItem.objects.get(code="incident_notice").sentence
    # 3 PM in Boston and two days
    assert "Due by Nov 27, 2026, 3:00 PM. (333 CMR 10.14" in sentence


def test_a_late_flag_that_was_closed_is_not_opened_again(boston: House) -> None:
    reported(boston, happened_at=NOW)
    late = NOW + 60 * HOUR
    flag_late_notices(now=late)
    OpenItem.objects.filter(code="incident_notice_late").update(closed_at=late)
    flag_late_notices(now=late + HOUR)
    assert OpenItem.objects.filter(code="incident_notice_late").count() == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"agency": " "}, "agency"),
        ({"given_at": NOW - 2 * HOUR}, "given"),  # before it happened
        ({"way": "pigeon"}, "way"),
        ({"reference": "x" * 61}, "reference"),
    ],
)
def test_a_notice_that_cannot_be_is_refused(
    boston: House, manager: Person, changes: dict[str, Any], field: str
) -> None:
    incident = reported(boston)
    with pytest.raises(Refused) as refused:
        told(incident, manager, **changes)
    assert refused.value.facts["field"] == field
    assert "incident_notice" in open_codes()


def test_a_notice_of_tomorrow_is_refused(boston: House, manager: Person) -> None:
    incident = reported(boston)
    notice = NewNotice(uuid.uuid4(), "Department", NOW + HOUR, manager.pk)
    with pytest.raises(Refused) as refused:
        give_notice(incident_id=incident.pk, notice=notice, by=manager, now=NOW)
    assert refused.value.code == "future"


def test_later_entries_complete_and_nothing_is_written_over(house: House, manager: Person) -> None:
    incident = reported(house)
    ref = uuid.uuid4()
    for _ in range(2):  # sent twice
        add_to_incident(
            incident_id=incident.pk,
            client_ref=ref,
            words="The drain was covered in time.",
            by=house.technician,
            now=NOW,
        )
    told(incident, manager)
    kinds = list(IncidentAddendum.objects.values_list("kind", flat=True))
    assert kinds == ["addition", "notice"]
    assert verify(house.place.branch_id).is_whole
    for rows in (Incident, IncidentAddendum, IncidentPersonalValue):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.objects.update(id=77)
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.objects.all()._raw_delete(DEFAULT_DB_ALIAS)


def test_only_the_manager_tells_the_agency_and_closes(
    house: House, office: Person, other_technician: Person
) -> None:
    incident = reported(house)
    for person in (office, house.technician):
        with pytest.raises(Refused):
            told(incident, person)
    with pytest.raises(Http404):
        incident_for(other_technician, incident.pk)
    assert incident_for(office, incident.pk).pk == incident.pk


def closed(incident: Incident, by: Person, words: str = "Nothing is left to do.") -> None:
    close_incident(
        incident_id=incident.pk, client_ref=uuid.uuid4(), words=words, by=by, now=NOW + HOUR
    )


def test_with_a_clock_it_is_closed_only_after_the_notice(boston: House, manager: Person) -> None:
    incident = reported(boston)
    with pytest.raises(Refused) as refused:
        closed(incident, manager)
    assert refused.value.code == "no_notice"
    told(incident, manager)
    closed(incident, manager)
    with pytest.raises(Refused):
        closed(incident, manager)


def test_an_open_incident_holds_its_records_and_a_closed_one_does_not(
    house: House, manager: Person
) -> None:
    record = record_application(
        application=house.application(), by=house.technician, now=NOW
    ).record
    incident = reported(house, record_ids=(record.pk,))
    assert [hold.reason for hold in record.holds.all()] == [f"Incident {incident.pk} is open."]
    closed(incident, manager)
    assert not record.holds.filter(released_at=None).exists()
    reopen_incident(
        incident_id=incident.pk,
        client_ref=uuid.uuid4(),
        words="A neighbor is ill.",
        by=manager,
        now=NOW + 2 * HOUR,
    )
    assert record.holds.filter(released_at=None).count() == 1
    assert verify(house.place.branch_id).is_whole


def test_it_belongs_to_the_branch_of_the_vehicle_or_of_who_reports(
    house: House, branch_penn: Any
) -> None:
    make_zone(house.place)
    incident = reported(house, property_id=None, where="Route 4, mile 12")
    assert (incident.branch_id, incident.state) == (house.technician.branch_id, "OH")


@pytest.mark.parametrize(
    ("statement", "difference"),
    [
        ("UPDATE treatments_incident SET kind = 'drift'", "incident {pk}: incident.kind"),
        (
            "UPDATE treatments_incident SET notice_due_at = NULL",
            "incident {pk}: incident.notice_due_at",
        ),
        (
            "UPDATE treatments_incidentpersonalvalue SET value = 'x' WHERE field = 'whom'",
            "incident {pk}: personal.whom",
        ),
        (
            "UPDATE treatments_incidentaddendum SET given_at = '2026-11-25 19:30:00+00:00'",
            "incident_addendum {late}: addendum.given_at",
        ),
        ("DELETE FROM treatments_incidentaddendum", "incident_addendum {late}: it is in the log"),
    ],
)
def test_a_change_behind_the_guards_is_found(
    boston: House, manager: Person, statement: str, difference: str
) -> None:
    incident = reported(boston)
    late = told(incident, manager)
    assert verify(boston.place.branch_id).is_whole
    behind_the_guards(statement)
    found = verify(boston.place.branch_id)
    assert difference.format(pk=incident.pk, late=late.pk) in found.difference


def test_a_row_without_a_leaf_is_found(house: House) -> None:
    incident = reported(house)
    row = IncidentAddendum.objects.create(
        client_ref=uuid.uuid4(), incident=incident, kind="addition", words="x", salt=b"0" * 32
    )
    assert verify(house.place.branch_id).difference == (
        f"incident_addendum {row.pk}: it has no leaf in the log."
    )


@pytest.mark.parametrize("payload", [{}, {"incident": "x"}, {"incident": {"id": "x"}}])
def test_a_leaf_that_names_no_incident_is_found(house: House, payload: dict[str, Any]) -> None:
    append_leaf(
        branch_id=house.place.branch_id,
        kind="incident",
        payload=payload,
        record=None,
        by=None,
        now=NOW,
    )
    found = verify(house.place.branch_id).difference
    assert found == "incident 0: it is in the log and not in the table."
