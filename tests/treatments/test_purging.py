"""Forgetting after retention: early refused, held refused, after it done; the tree verifies.

Check A22 and 7.5 of reference/regulations.md; days are years back, since the database's own guard
counts by its own clock.
"""

from __future__ import annotations

import json
import uuid
from datetime import date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import DEFAULT_DB_ALIAS, IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from accounts.models import AuditEvent, OpenItem, Person
from accounts.refusals import Refused
from tests.treatments.conftest import NOW, House
from tests.treatments.incident_cases import reported
from tests.treatments.test_log import behind_the_guards
from treatments.models import ApplicationRecord, LogEntry, RecordPersonalValue, RetentionHold
from treatments.rules.retention import add_years
from treatments.selectors.log import verify
from treatments.selectors.purges import early_purges
from treatments.services.holds import release_hold, set_hold
from treatments.services.incidents import close_incident
from treatments.services.log import append_leaf
from treatments.services.purging import look_for_early_purges, purge_records
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
LONG_AGO = datetime.fromisoformat("2016-02-29T20:00:00+00:00")
UNTIL = add_years(LONG_AGO.date(), 7)  # Mar 1, 2023: Feb 29 and seven years


def recorded(house: House, at: datetime) -> ApplicationRecord:
    """The house treated at some time, recorded then."""
    application = house.application(
        started_at=at - timedelta(minutes=30), finished_at=at - timedelta(minutes=10)
    )
    return record_application(application=application, by=house.technician, now=at).record


@pytest.fixture
def old(house: House) -> ApplicationRecord:
    """A record of Feb 29, 2016, kept through Mar 1, 2023."""
    record = recorded(house, LONG_AGO)
    assert record.retain_until == UNTIL == date(2023, 3, 1)
    return record


TODAY = NOW.date()


def purge(before: date = TODAY, **more: Any) -> int:
    """How many values were forgotten."""
    found = purge_records(**{"before": before, "by": None, "now": NOW} | more)
    return sum(one.values for one in found)


def kept(record: ApplicationRecord) -> int:
    return RecordPersonalValue.objects.filter(record=record).count()


def test_after_its_day_the_values_go_and_the_tree_verifies(
    house: House, old: ApplicationRecord, manager: Person
) -> None:
    young, count = recorded(house, NOW), kept(old)
    assert purge(by=manager) == count == 4
    assert (kept(old), kept(young)) == (0, 4)
    assert verify(house.place.branch_id).is_whole
    assert ApplicationRecord.objects.get(pk=old.pk).product_amount == "1.6"
    assert early_purges(house.place.branch_id) == []


def test_the_leaf_names_records_digests_actor_and_rule(
    old: ApplicationRecord, manager: Person
) -> None:
    first = json.loads(bytes(LogEntry.objects.get(record=old).leaf))
    purge(by=manager)
    said = json.loads(bytes(LogEntry.objects.get(kind="purge").leaf))
    (row,) = said["payload"]["records"]
    assert said["actor"] == manager.pk
    assert (row["record_id"], row["retain_until"]) == (old.pk, "2023-03-01")
    assert row["digests"] == first["payload"]["personal"]
    assert "without a hold" in said["payload"]["rule"]
    event = AuditEvent.objects.get(act="purge_records")
    assert event.details["records"] == [old.pk]


@pytest.mark.parametrize(
    ("before", "is_forgotten"),
    [
        (date(2023, 2, 28), False),
        (date(2023, 3, 1), False),  # its last day
        (date(2023, 3, 2), True),
    ],
)
def test_the_last_day_is_still_kept(
    old: ApplicationRecord, before: date, is_forgotten: bool
) -> None:
    purge(before)
    assert (kept(old) == 0) == is_forgotten


def test_a_day_to_come_is_refused_with_a_sentence(old: ApplicationRecord) -> None:
    with pytest.raises(Refused) as refused:
        purge(NOW.date() + timedelta(days=1))
    assert refused.value.code == "early"
    assert "still to come" in refused.value.sentence
    assert kept(old) == 4


def test_only_a_manager_purges(old: ApplicationRecord, house: House, office: Person) -> None:
    for person in (office, house.technician):
        with pytest.raises(Refused):
            purge(by=person)


def test_a_dry_run_counts_and_deletes_nothing(old: ApplicationRecord) -> None:
    assert purge(dry_run=True) == 4
    assert kept(old) == 4
    assert not LogEntry.objects.filter(kind="purge").exists()


def test_a_second_purge_finds_nothing(old: ApplicationRecord) -> None:
    assert (purge(), purge()) == (4, 0)
    assert LogEntry.objects.filter(kind="purge").count() == 1


def test_a_hold_keeps_and_its_release_lets_go(old: ApplicationRecord, manager: Person) -> None:
    hold = set_hold(record_id=old.pk, reason="A claim of the owner.", by=manager, now=NOW)
    assert purge() == 0
    with pytest.raises(IntegrityError), transaction.atomic():
        RecordPersonalValue.objects.filter(record=old).delete()
    release_hold(hold_id=hold.pk, reason="Settled.", by=manager, now=NOW)
    assert purge() == 4


def test_the_database_refuses_an_early_delete(house: House) -> None:
    record = recorded(house, NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        RecordPersonalValue.objects.filter(record=record).delete()


def test_an_open_incident_keeps_its_record(
    house: House, old: ApplicationRecord, manager: Person
) -> None:
    incident = reported(house, record_ids=(old.pk,))
    assert purge() == 0
    hold = old.holds.get()
    with pytest.raises(Refused) as refused:
        release_hold(hold_id=hold.pk, reason="I want to.", by=manager, now=NOW)
    assert refused.value.code == "incident_holds"
    close_incident(
        incident_id=incident.pk, client_ref=uuid.uuid4(), words="Over.", by=manager, now=NOW
    )
    assert purge() == 4
    assert verify(house.place.branch_id).is_whole


@pytest.mark.parametrize("reason", ["", "   ", "x" * 201])
def test_a_hold_has_a_reason(old: ApplicationRecord, manager: Person, reason: str) -> None:
    with pytest.raises(Refused) as refused:
        set_hold(record_id=old.pk, reason=reason, by=manager, now=NOW)
    assert refused.value.facts["field"] == "reason"


def test_a_hold_never_changes_and_is_released_once(old: ApplicationRecord, manager: Person) -> None:
    hold = set_hold(record_id=old.pk, reason="A claim.", by=manager, now=NOW)
    rows = RetentionHold.objects.filter(pk=hold.pk)
    for change in ({"reason": "Nothing"}, {"id": 10**6, "released_at": NOW}):
        with pytest.raises(IntegrityError), transaction.atomic():
            rows.update(**change)
    with pytest.raises(IntegrityError), transaction.atomic():
        rows._raw_delete(DEFAULT_DB_ALIAS)
    release_hold(hold_id=hold.pk, reason="Settled.", by=manager, now=NOW)
    with pytest.raises(Refused):
        release_hold(hold_id=hold.pk, reason="Again.", by=manager, now=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        rows.update(released_at=None)


@pytest.mark.parametrize("role", ["office", "technician"])
def test_only_a_manager_holds(
    old: ApplicationRecord, role: str, request: pytest.FixtureRequest
) -> None:
    with pytest.raises(Refused):
        set_hold(record_id=old.pk, reason="x", by=request.getfixturevalue(role), now=NOW)


def test_what_is_gone_without_a_purge_is_a_difference(house: House, old: ApplicationRecord) -> None:
    RecordPersonalValue.objects.filter(record=old, field="street").delete()
    assert "payload.personal.street is None" in verify(house.place.branch_id).difference


def test_a_purge_leaf_cannot_stand_for_a_changed_value(
    house: House, old: ApplicationRecord
) -> None:
    behind_the_guards(
        f"UPDATE treatments_recordpersonalvalue SET value = 'x' WHERE record_id = {old.pk}"
    )
    purge()
    assert not verify(house.place.branch_id).is_whole


def test_a22_finds_what_went_before_its_day_or_under_a_hold(
    house: House, old: ApplicationRecord, manager: Person
) -> None:
    purge()
    branch = house.place.branch_id
    assert look_for_early_purges(now=NOW) == 0
    set_hold(record_id=old.pk, reason="A claim.", by=manager, now=NOW - timedelta(days=1))
    assert "while a hold stood" in early_purges(branch)[0][1]
    behind_the_guards("UPDATE treatments_applicationrecord SET retain_until = '2030-01-01'")
    assert "before the end of Jan 1, 2030" in early_purges(branch)[0][1]
    for _ in range(2):
        assert look_for_early_purges(now=NOW) == 1
    assert OpenItem.objects.filter(code="purged_early").count() == 1


def test_the_command_says_what_it_did(old: ApplicationRecord, manager: Person) -> None:
    out = StringIO()
    call_command("purge_records", before=date(2024, 1, 1), dry_run=True, stdout=out)
    assert "Columbus: would forget 4 personal values of 1 record" in out.getvalue()
    call_command("purge_records", before=date(2024, 1, 1), by=manager.email, stdout=out)
    assert "Columbus: forgot 4 personal values of 1 record" in out.getvalue()
    with pytest.raises(CommandError, match="still to come"):
        call_command("purge_records", before=date(2999, 1, 1), stdout=out)
    with pytest.raises(CommandError, match="Nobody"):
        call_command("purge_records", before=date(2024, 1, 1), by="nobody@firm.example")


ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("hold"), st.integers(0, 2)),
        st.tuples(st.just("release"), st.integers(0, 9)),
        st.tuples(st.just("purge"), st.dates(date(2019, 1, 1), date(2026, 11, 25))),
        st.tuples(st.just("delete"), st.integers(0, 2)),
    ),
    max_size=12,
)


@pytest.fixture
def three(house: House) -> list[ApplicationRecord]:
    """Kept through 2020, 2023 and 2033."""
    days = ("2013-05-01", "2016-02-29", "2026-11-20")
    return [recorded(house, datetime.fromisoformat(f"{day}T20:00:00+00:00")) for day in days]


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(acts=ACTS)
def test_no_value_goes_before_its_day_or_under_a_hold(
    house: House, manager: Person, three: list[ApplicationRecord], acts: list[tuple[str, Any]]
) -> None:
    with transaction.atomic():
        for act, what in acts:
            before_act = {one.pk: kept(one) for one in three}
            _do(act, what, three, manager)
            for one in three:
                if kept(one) < before_act[one.pk]:
                    assert one.retain_until < NOW.date()
                    assert not one.holds.filter(released_at=None).exists()
                    if act == "purge":
                        assert one.retain_until < what
        if not any(act == "delete" for act, _ in acts):
            assert verify(house.place.branch_id).is_whole
        transaction.set_rollback(True)


def _do(act: str, what: Any, three: list[ApplicationRecord], manager: Person) -> None:
    if act == "hold":
        set_hold(record_id=three[what].pk, reason="A claim.", by=manager, now=NOW)
    elif act == "release":
        holds = list(RetentionHold.objects.order_by("pk"))
        if what < len(holds):
            try:
                release_hold(hold_id=holds[what].pk, reason="Over.", by=manager, now=NOW)
            except Refused as refused:
                assert refused.code == "released"
    elif act == "purge":
        purge(what)
    else:
        try:
            with transaction.atomic():
                RecordPersonalValue.objects.filter(record=three[what]).delete()
        except IntegrityError:
            return


@pytest.mark.parametrize("records", ["x", [1], [{}], [{"record_id": "x", "digests": {}}]])
def test_a_strange_purge_leaf_excuses_nothing(
    house: House, old: ApplicationRecord, records: object
) -> None:
    append_leaf(
        branch_id=house.place.branch_id,
        kind="purge",
        payload={"records": records},
        record=None,
        by=None,
        now=NOW,
    )
    assert verify(house.place.branch_id).is_whole
    assert early_purges(house.place.branch_id) == []
    RecordPersonalValue.objects.filter(record=old).delete()
    assert not verify(house.place.branch_id).is_whole
