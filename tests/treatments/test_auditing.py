"""The audit over stored records: opened at recording and at night, closed by themselves."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from accounts.models import AuditEvent, OpenItem, Person
from accounts.services.open_items import close_item
from tests.factories import client_for, make_customer, make_property, make_record, make_zone
from tests.guards_off import behind_the_guards
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import corrected, fill, voided
from treatments.models import ApplicationRecord
from treatments.rules.applications import Entered
from treatments.rules.audit.kinds import INCOMPLETE, LATE, NAME, NUMBER, RATE, TIMES
from treatments.services.auditing import audit_once_a_day, audit_records
from treatments.services.profiles import load_profiles
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
TODAY, DAY = NOW.date(), timedelta(days=1)


def opened(*codes: str) -> list[tuple[str, str]]:
    rows = OpenItem.objects.filter(closed_at=None)
    rows = rows.filter(code__in=codes) if codes else rows.exclude(code="label_unverified")
    return sorted(rows.values_list("code", "thing"))


def thing(record: ApplicationRecord) -> str:
    return f"treatments.applicationrecord:{record.pk}"


def recorded(house: House, now: datetime = NOW, **changes: Any) -> ApplicationRecord:
    return record_application(
        application=house.application(**changes), by=house.technician, now=now
    ).record


def audit(today: date = TODAY) -> tuple[int, int]:
    return audit_records(today=today, now=NOW)


def test_a_gap_is_open_until_an_addendum_closes_it(house: House) -> None:
    load_profiles()
    record = recorded(house, now=NOW + DAY)
    assert opened() == [(INCOMPLETE, thing(record)), (LATE, thing(record))]
    item = OpenItem.objects.get(code=INCOMPLETE)
    assert item.sentence.startswith("Demonstration A SC, Nov 25, 2026: Missing, by a rule")
    part = fill(record, house.technician, notes="Dog in the yard.")
    item.refresh_from_db()
    # the same matter, as old as before, about the entry that counts
    assert (item.thing, item.closed_at) == (thing(part), None)
    whole = fill(part, house.technician, equipment="1-gal can")
    item.refresh_from_db()
    assert item.closed_at is not None and item.closed_note == "Found no more."
    # that it came late stays, until a person answers it
    assert opened() == [(LATE, thing(whole))]
    assert audit(TODAY + DAY) == (0, 0)


def test_what_a_person_answered_stays_answered(house: House, manager: Person) -> None:
    load_profiles()
    record = recorded(house)
    item = OpenItem.objects.get(code=INCOMPLETE)
    close_item(item_id=item.pk, note="Put out by hand, no equipment.", by=manager, now=NOW)
    assert audit() == (0, 0)
    fill(record, house.technician, wind_mph="4")
    assert audit() == (0, 0) and opened(INCOMPLETE) == []
    assert OpenItem.objects.filter(code=INCOMPLETE).count() == 1


def test_a_void_closes_what_was_open(house: House, manager: Person) -> None:
    load_profiles()
    record = recorded(house, product_amount=Entered("3.2", "fl_oz"))
    assert [code for code, _ in opened()] == [RATE, INCOMPLETE]
    voided(record, house.technician, manager)
    assert opened(RATE, INCOMPLETE) == []
    assert audit() == (0, 0)


def test_a_corrected_amount_closes_the_rate(house: House, manager: Person) -> None:
    record = recorded(house, product_amount=Entered("3.2", "fl_oz"))
    assert opened() == [(RATE, thing(record))]
    corrected(record, house.technician, manager, product_amount="1.6 fl_oz")
    assert opened(RATE) == []


def test_a_good_record_writes_no_item(house: House) -> None:
    recorded(house)
    assert opened() == []


def test_two_places_at_once_are_found_at_night(house: House, manager: Person) -> None:
    first = recorded(house)
    other = make_zone(make_property(make_customer(house.place.branch, "Ada Byron")), "Wall")
    second = make_record(
        other,
        house.technician,
        house.use,
        applied_on=TODAY,
        started_at=first.finished_at - timedelta(minutes=1),
        finished_at=first.finished_at + timedelta(minutes=9),
    )
    assert opened(TIMES) == []
    audit()
    assert opened(TIMES) == [(TIMES, thing(second))]
    assert f"overlaps with record {first.pk}" in OpenItem.objects.get(code=TIMES).sentence
    # the first is voided: then nothing overlaps
    voided(first, house.technician, manager)
    audit()
    assert opened(TIMES) == []


def test_another_number_and_a_short_name_are_found(house: House) -> None:
    said = {"registration_kind": "section3", "registration_number": "99999-102"}
    days = TODAY - 100 * DAY
    record = make_record(house.band, house.technician, house.use, applied_on=days, **said)
    audit()
    # a number unlike the product's is looked for over a year
    assert opened() == [(NUMBER, thing(record))]
    assert "the product 99999-101" in OpenItem.objects.get().sentence
    house.place.customer.name = "Ellwood"
    house.place.customer.save()
    short = recorded(house)
    assert opened(NAME) == [(NAME, thing(short))]


def test_a_firm_of_one_word_is_no_short_name(house: House) -> None:
    house.place.customer.name, house.place.customer.kind = "Bakery", "commercial"
    house.place.customer.save()
    recorded(house)
    assert opened(NAME) == []


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    starts=st.lists(st.integers(-2000, -60), min_size=1, max_size=4),
    names=st.lists(st.sampled_from(["Ada Byron", "Ada"]), min_size=2, max_size=2),
)
def test_a_second_night_changes_nothing(house: House, starts: list[int], names: list[str]) -> None:
    places = [make_zone(make_property(make_customer(house.place.branch, name))) for name in names]
    for number, minutes in enumerate(starts):
        at = NOW + timedelta(minutes=minutes)
        make_record(
            places[number % 2],
            house.technician,
            house.use,
            applied_on=at.date(),
            started_at=at,
            finished_at=at + timedelta(minutes=50),
        )
    audit()
    before = list(OpenItem.objects.order_by("pk").values())
    assert audit() == (0, 0)
    assert list(OpenItem.objects.order_by("pk").values()) == before


def test_many_records_take_as_many_queries_as_few(house: House) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            audit()
        return len(seen)

    make_record(house.band, house.technician, house.use, applied_on=TODAY)
    audit()
    few = queries()
    for hours in range(1, 9):
        at = NOW - timedelta(hours=2 * hours)
        make_record(
            house.band,
            house.technician,
            house.use,
            applied_on=at.date(),
            started_at=at,
            finished_at=at,
        )
    audit()
    assert queries() == few


def test_the_audit_runs_once_a_day_and_by_hand(
    house: House, capsys: pytest.CaptureFixture[str]
) -> None:
    for day in (TODAY, TODAY, TODAY + DAY):
        audit_once_a_day(today=day, now=NOW)
    assert AuditEvent.objects.filter(act="audit_records").count() == 2
    call_command("audit_records")
    assert capsys.readouterr().out == "Audit of records: 0 opened, 0 closed.\n"


def test_the_night_compares_the_totals_of_the_year_with_the_log(house: House) -> None:
    record = recorded(house)
    behind_the_guards(
        f"UPDATE treatments_applicationrecord SET product_ul = 1 WHERE id = {record.pk}"
    )
    audit_once_a_day(today=TODAY, now=NOW)
    assert opened("totals_differ_from_log") == [
        ("totals_differ_from_log", f"totals:{house.place.branch_id}:2026")
    ]
    behind_the_guards(
        f"UPDATE treatments_applicationrecord SET product_ul = {record.product_ul} "
        f"WHERE id = {record.pk}"
    )
    # in January the year that is over is looked at too
    audit_once_a_day(today=date(2027, 1, 4), now=NOW)
    assert opened("totals_differ_from_log") == []


def test_the_list_shows_own_gaps_the_soonest_first(
    house: House, other_technician: Person, office: Person
) -> None:
    load_profiles()
    late = recorded(house)
    early = recorded(
        house,
        started_at=NOW - 2 * DAY,
        finished_at=NOW - 2 * DAY + timedelta(minutes=9),
    )
    page = client_for(house.technician).get("/records/to-complete/").content.decode()
    assert "<b>2</b> records with a gap" in page and "method and equipment" in page
    assert page.index(f"/record/{early.pk}/fill/") < page.index(f"/record/{late.pk}/fill/")
    # an addendum of the office takes it off the list of both
    fill(early, office, equipment="1-gal can")
    for person, count in ((house.technician, 1), (office, 1), (other_technician, 0)):
        page = client_for(person).get("/records/to-complete/").content.decode()
        assert f"<b>{count}</b> record" in page, person
    today = client_for(house.technician).get("/today/").content.decode()
    assert "<b>1 record to complete.</b>" in today and "/records/to-complete/" in today
    assert "to complete." not in client_for(other_technician).get("/today/").content.decode()


def test_the_list_takes_a_fixed_number_of_queries(house: House) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            client.get("/records/to-complete/")
        return len(seen)

    load_profiles()
    client = client_for(house.technician)
    recorded(house)
    few = queries()
    for _ in range(4):
        recorded(house)
    assert queries() == few
