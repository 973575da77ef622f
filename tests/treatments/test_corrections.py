"""Addenda, corrections and voids: whole new entries, each with its leaf, the last one counts."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.http import Http404

from accounts.models import OpenItem, Person
from accounts.permissions import Permission, Role, allows
from tests.factories import make_person, make_zone
from tests.refusing import refused
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import (
    LATER,
    ask,
    canonical_fl_oz,
    copy_of,
    corrected,
    fill,
    is_whole,
    text,
    voided,
)
from tests.treatments.load_cases import mixed, used
from treatments.models import (
    ApplicationRecord,
    LogEntry,
    ResidualWindow,
)
from treatments.rules.corrections import Value
from treatments.selectors.entries import entries_of, facts_of
from treatments.selectors.records import UseLogFilter, effective_records, totals
from treatments.selectors.windows import windows_of
from treatments.services.addenda import fill_gap
from treatments.services.corrections import approve, ask_void, decline

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_an_addendum_fills_what_is_empty(house: House, record: ApplicationRecord) -> None:
    after = fill(record, house.technician, wind_mph="4", weather_source="Pocket meter")
    assert (after.entry, after.corrects_id, after.wind_mph) == ("addendum", record.pk, "4")
    assert after.product_ul == record.product_ul == canonical_fl_oz("1.6")
    assert after.approved_by_id is None and after.created_by_id == house.technician.pk
    assert after.received_at == LATER and record.received_at == NOW
    assert list(effective_records()) == [after]
    assert list(LogEntry.objects.order_by("seq").values_list("kind", flat=True)) == [
        "record",
        "addendum",
    ]
    assert is_whole(house)


def test_an_addendum_changes_no_value(house: House, record: ApplicationRecord) -> None:
    with refused("has_value", "product_amount"):
        fill(record, house.technician, product_amount="1.5 fl_oz", wind_mph="4")
    with refused("has_value", "protective_equipment_confirmed"):
        fill(record, house.technician, protective_equipment_confirmed=False)
    with refused("nothing_filled"):
        fill(record, house.technician, wind_mph="")
    assert ApplicationRecord.objects.count() == 1


def test_the_same_addendum_again_is_a_replay(house: House, record: ApplicationRecord) -> None:
    given = {"record_id": record.pk, "facts": {"wind_mph": "4"}, "by": house.technician}
    given |= {"now": LATER, "client_ref": uuid.uuid4()}
    first, again = fill_gap(**given), fill_gap(**given)
    assert first == again and ApplicationRecord.objects.count() == 2


def test_the_office_fills_a_gap_and_another_technician_does_not(
    house: House, record: ApplicationRecord, office: Person, other_technician: Person
) -> None:
    with pytest.raises(Http404):
        fill(record, other_technician, wind_mph="4")
    assert fill(record, office, wind_mph="4").created_by == office


def test_a_correction_takes_the_place_of_the_record(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    after = corrected(record, house.technician, manager, product_amount="1.2 fl_oz")
    assert (after.entry, after.corrects_id) == ("correction", record.pk)
    assert (after.created_by, after.approved_by) == (house.technician, manager)
    assert after.correction_reason == "Read from the wrong line."
    assert after.product_ul == canonical_fl_oz("1.2")
    record.refresh_from_db()
    assert record.product_ul == canonical_fl_oz("1.6")
    assert [one.amount for one in totals(UseLogFilter())] == ["1.20 fl oz"]
    assert is_whole(house)


def test_what_a_correction_does_not_name_stays(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    house.place.city, house.place.branch.name = "Moved", "Renamed"
    house.place.save()
    house.place.branch.save()
    after = corrected(record, house.technician, manager, equipment="Backpack 2")
    same = {
        field.name
        for field in ApplicationRecord._meta.concrete_fields
        if getattr(after, field.name) == getattr(record, field.name)
    }
    every = {field.name for field in ApplicationRecord._meta.concrete_fields}
    assert every - same == {
        *("id", "client_ref", "client_digest", "entry", "corrects", "correction_reason"),
        *("approved_by", "created_at", "received_at", "equipment"),
    }
    before, now = (entries_of(after)[place] for place in (0, 1))
    assert facts_of(now) == facts_of(before) | {"equipment": "Backpack 2"}


def test_a_correction_is_judged_again_without_itself(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    # 1.6 fl oz on 1,600 sq ft is the most the label allows; 7 days lie between two uses
    assert not record.judgements.filter(severity="violation").exists()
    right = corrected(record, house.technician, manager, wind_mph="4")
    assert not right.judgements.filter(severity="violation").exists()
    wrong = corrected(right, house.technician, manager, product_amount="1.7 fl_oz")
    assert wrong.judgements.filter(severity="violation", code="rate").exists()


def test_windows_follow_the_day(house: House, record: ApplicationRecord, manager: Person) -> None:
    start, end = (at - timedelta(days=2) for at in (record.started_at, record.finished_at))
    after = corrected(
        record, house.technician, manager, started_at=text(start), finished_at=text(end)
    )
    assert after.applied_on == record.applied_on - timedelta(days=2)
    [window] = windows_of([house.band.pk])[house.band.pk]
    assert window.applied_on == after.applied_on
    assert ResidualWindow.objects.count() == 2
    assert is_whole(house)


def test_a_zone_left_out_loses_its_window(
    house: House, manager: Person, record: ApplicationRecord
) -> None:
    other = make_zone(house.place, "Shed band", run="20", up="3", out="5")
    both = corrected(
        record,
        house.technician,
        manager,
        zones={str(house.band.pk): "1600 ft2", str(other.pk): "20 ft"},
    )
    assert set(windows_of([house.band.pk, other.pk])) == {house.band.pk, other.pk}
    assert both.area_mm2 == 1760 * 92_903_04 // 100
    one = corrected(both, house.technician, manager, zones={str(other.pk): "20 ft"})
    assert set(windows_of([house.band.pk, other.pk])) == {other.pk}
    assert [area.zone_id for area in one.treated_areas.all()] == [other.pk]
    assert is_whole(house)


def test_a_void_counts_nowhere(house: House, record: ApplicationRecord, manager: Person) -> None:
    void = voided(record, house.technician, manager)
    assert (void.entry, void.product_ul, void.area_mm2) == ("void", None, 0)
    assert list(effective_records()) == [] == totals(UseLogFilter())
    assert windows_of([house.band.pk]) == {}
    assert is_whole(house)
    with refused("voided"):
        fill(void, house.technician, wind_mph="4")
    with pytest.raises(IntegrityError), transaction.atomic():
        ApplicationRecord.objects.create(**copy_of(record, void, "addendum"))


def test_who_asked_does_not_approve(
    house: House, record: ApplicationRecord, manager: Person, second: Person
) -> None:
    request = ask(record, manager, wind_mph="4")
    with refused("second_person"):
        approve(request_id=request.pk, by=manager, now=NOW + timedelta(days=3))
    assert approve(request_id=request.pk, by=second, now=LATER).approved_by == second


def test_neither_technician_nor_office_approves(
    house: House, record: ApplicationRecord, office: Person, other_technician: Person
) -> None:
    request = ask(record, house.technician, wind_mph="4")
    for person in (office, other_technician, house.technician):
        assert not allows(person, Permission.DECIDE_CORRECTIONS)
        with refused("not_permitted"):
            approve(request_id=request.pk, by=person, now=LATER)
        with refused("not_permitted"):
            decline(request_id=request.pk, reason="No.", by=person, now=LATER)


def test_a_one_person_firm_waits_a_day_and_is_marked(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    request = ask(record, manager, wind_mph="4")
    with refused("second_person"):
        approve(request_id=request.pk, by=manager, now=LATER + timedelta(hours=23))
    after = approve(request_id=request.pk, by=manager, now=LATER + timedelta(hours=24))
    assert after.is_one_person_firm
    assert OpenItem.objects.filter(code="one_person_firm", closed_at=None).count() == 1
    assert b'"one_person_firm":true' in bytes(LogEntry.objects.get(record=after).leaf)
    assert is_whole(house)


def test_a_request_is_decided_once(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    request = ask(record, house.technician, wind_mph="4")
    decline(request_id=request.pk, reason="The meter was broken.", by=manager, now=LATER)
    request.refresh_from_db()
    assert (request.state, request.declined_reason) == ("declined", "The meter was broken.")
    with refused("decided"):
        approve(request_id=request.pk, by=manager, now=LATER)
    assert not OpenItem.objects.filter(code="correction_asked", closed_at=None).exists()
    assert ApplicationRecord.objects.count() == 1


def test_two_requests_one_after_the_other(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    """What still fits is made on top of the other; what changed meanwhile is refused."""
    amount = ask(record, house.technician, product_amount="1.2 fl_oz")
    wind = ask(record, house.technician, wind_mph="4")
    again = ask(record, house.technician, product_amount="1.1 fl_oz")
    first = approve(request_id=amount.pk, by=manager, now=LATER)
    both = approve(request_id=wind.pk, by=manager, now=LATER)
    assert (both.corrects, both.wind_mph, both.product_amount) == (first, "4", "1.2")
    with refused("changed_since"):
        approve(request_id=again.pk, by=manager, now=LATER)
    again.refresh_from_db()
    assert again.state == "asked"
    assert list(effective_records()) == [both] and is_whole(house)


def test_an_entry_that_was_followed_is_not_asked_about(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    corrected(record, house.technician, manager, wind_mph="4")
    with refused("followed"):
        ask(record, house.technician, wind_mph="5")
    with refused("followed"):
        fill(record, house.technician, notes="Gate was open.")
    with refused("followed"):
        ask_void(record_id=record.pk, reason="Twice.", by=house.technician, now=LATER)


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({}, "nothing_changed"),
        ({"wind_mph": "gale"}, "weather"),
        ({"zones": {}}, "zones"),
        ({"zones": {"0": "3 ft"}}, "zones"),
        ({"direction": 0}, "direction"),
        ({"applicator": 0}, "applicator"),
        ({"pests": ["Unheard of"]}, "pests"),
        ({"product_amount": "3 oz_wt"}, "unit"),
        ({"finished_at": "2026-12-24T00:00:00.000000Z"}, "time"),
    ],
)
def test_what_no_record_may_say_is_not_asked(
    house: House, record: ApplicationRecord, facts: dict[str, Value], code: str
) -> None:
    field = {"applicator": "applicator", "pests": "pests"}.get(code)
    with refused(code, field):
        ask(record, house.technician, **facts)


def test_a_reason_is_needed(house: House, record: ApplicationRecord, manager: Person) -> None:
    with refused("reason", "reason"):
        ask_void(record_id=record.pk, reason=" ", by=house.technician, now=LATER)
    request = ask(record, house.technician, wind_mph="4")
    with refused("reason", "reason"):
        decline(request_id=request.pk, reason="", by=manager, now=LATER)
    with refused("asked"):
        ask(record, house.technician, wind_mph="4")


def test_the_license_is_that_of_the_day(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    nobody = make_person([Role.TECHNICIAN], house.place.branch, "Una Licensed")
    after = corrected(record, house.technician, manager, applicator=nobody.pk)
    assert (after.applicator, after.license_number) == (nobody, "")
    said = {row.field: row.value for row in after.personal_values.all()}
    assert said["applicator_name"] == "Una Licensed"
    assert after.judgements.filter(code="license", severity="violation").exists()


def test_the_product_of_a_load_follows_from_the_volume(house: House, manager: Person) -> None:
    record = used(house, mixed(house), "1.6").record
    with refused("load", "product_amount"):
        ask(record, house.technician, product_amount="1 fl_oz")
    after = corrected(record, house.technician, manager, finished_amount="1.2 gal")
    # 4 fl oz in 4 gal
    assert after.product_ul == canonical_fl_oz("1.2")
