"""Recording one application: every stored value against one computed here by hand."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from typing import Any

import pytest

from accounts.models import AuditEvent
from accounts.refusals import Refused
from sites.rules.places import PestGroup
from tests.factories import make_license, make_person, make_pest, make_zone
from tests.treatments.conftest import NOW, House
from treatments.models import (
    ApplicationRecord,
    LogEntry,
    LogFrontier,
    ResidualWindow,
    ZoneProtection,
)
from treatments.rules.applications import Entered, TreatedZone, Weather
from treatments.selectors.log import verify
from treatments.selectors.payloads import EVERY_COLUMN, ONLY_WHEN_FILLED, ONLY_WHEN_TRUE
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_the_house_of_the_reference_is_stored_to_the_microliter(house: House) -> None:
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    record = ApplicationRecord.objects.get(pk=done.record.pk)
    # 1 US fl oz is 29,573.5295625 uL, 1 gal 3,785,411.784 uL, 1 sq ft 92,903.04 mm2 exactly
    # (NIST Handbook 44, Appendix C): x 1.6 = 47,317.6473 and 6,056,658.8544; x 1,600.
    assert (record.product_amount, record.product_unit, record.product_ul) == (
        "1.6",
        "fl_oz",
        47318,
    )
    assert (record.finished_amount, record.finished_ul) == ("1.6", 6_056_659)
    assert (record.product_mg, record.mix_basis) == (None, "per_finished")
    assert (record.area_mm2, record.length_mm) == (148_644_864, 60_960)
    assert record.applied_on == date(2026, 11, 25)
    assert record.retain_until == date(2033, 11, 25)
    # the work ended at 19:44 UTC, the label asks for 120 minutes
    assert record.reentry_until == datetime(2026, 11, 25, 21, 44, tzinfo=UTC)
    assert record.ingredients == [{"name": "demothrin", "percent": "7.9"}]
    assert (record.registration_number, record.product_name) == ("99999-101", "Demonstration A SC")
    assert (record.state, record.city, record.branch_name) == ("OH", "Worthington", "Columbus")
    assert record.license_kind == "certified"
    assert record.pests == ["Brown marmorated stink bug"]
    assert not done.is_replay


def test_treated_area_window_and_protection(house: House) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    window = ResidualWindow.objects.get()
    assert (window.pest_group, window.claim_days, window.days) == ("overwintering", 90, 90)
    # 90 days from Nov 25: 5 to Nov 30, 31 of December, 31 of January, 23 of February
    assert (window.opens_on, window.expires_on) == (date(2026, 12, 2), date(2027, 2, 23))
    area = window.treated_area
    assert area is not None
    assert (area.size, area.size_unit, area.area_mm2) == ("1600", "ft2", 148_644_864)
    kept = ZoneProtection.objects.get()
    assert (kept.zone_id, kept.window_id, kept.counts) == (house.band.pk, window.pk, True)
    assert kept.expires_on == date(2027, 2, 23)


def test_the_label_check_passes_at_exactly_the_maximum(house: House) -> None:
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    graver = [one for one in done.judgements if one.severity in ("violation", "refuse")]
    assert graver == []
    rate = next(one for one in done.judgements if one.code == "rate")
    assert (rate.severity, rate.sentence) == ("note", "rate 1.00, most 1.00 fl oz per 1,000 sq ft")


def test_the_leaf_is_the_hash_of_its_bytes_and_holds_no_name(house: House) -> None:
    record = record_application(
        application=house.application(notes="Gate code was wrong."), by=house.technician, now=NOW
    ).record
    entry = LogEntry.objects.get()
    stored = bytes(entry.leaf)
    # RFC 9162 2.1.1: SHA-256(00 || entry); a tree of one leaf has that hash as root
    assert entry.leaf_hash == sha256(b"\x00" + stored).hexdigest()
    assert LogFrontier.objects.get().nodes == [entry.leaf_hash]
    said = json.loads(stored)
    assert (said["seq"], said["event"], said["record_id"]) == (0, "record", record.pk)
    assert said["payload"]["record"]["product_ul"] == 47318
    for personal in (b"Marta", b"Sluice", b"Terry", b"Gate code", b"PO Box"):
        assert personal not in stored


def test_personal_values_stand_in_the_leaf_as_salted_digests(house: House) -> None:
    record = record_application(
        application=house.application(notes="Gate code was wrong."), by=house.technician, now=NOW
    ).record
    said = json.loads(bytes(LogEntry.objects.get().leaf))["payload"]["personal"]
    rows = {row.field: row for row in record.personal_values.all()}
    assert {field: row.value for field, row in rows.items()} == {
        "customer_name": "Marta Ellwood",
        "billing_address": "PO Box 1, Columbus, OH 43085",
        "street": "118 Sluice Lane",
        "applicator_name": "Terry Technician",
        "notes": "Gate code was wrong.",
    }
    # SHA-256(salt || 00 || field || 00 || value)
    street = rows["street"]
    digest = sha256(bytes(street.salt) + b"\x00street\x00" + b"118 Sluice Lane").hexdigest()
    assert said["street"] == digest
    salts = [bytes(row.salt) for row in rows.values()]
    assert all(len(salt) == 32 for salt in salts)
    assert len(set(salts)) == len(salts)


def test_every_column_of_a_record_is_in_the_leaf() -> None:
    columns = {field.attname for field in ApplicationRecord._meta.concrete_fields}
    assert columns - {*EVERY_COLUMN, *ONLY_WHEN_FILLED, ONLY_WHEN_TRUE} == {"id"}


def test_a_replay_gives_the_first_answer_and_stores_nothing(house: House) -> None:
    application = house.application()
    first = record_application(application=application, by=house.technician, now=NOW)
    later = NOW + timedelta(hours=3)
    again = record_application(
        application=replace(application, device_skew_s=40), by=house.technician, now=later
    )
    assert again.is_replay
    assert again.record.pk == first.record.pk
    assert [one.sentence for one in again.judgements] == [one.sentence for one in first.judgements]
    assert ApplicationRecord.objects.count() == LogEntry.objects.count() == 1
    assert ResidualWindow.objects.count() == 1


def test_a_reference_never_names_two_records(house: House) -> None:
    application = house.application()
    record_application(application=application, by=house.technician, now=NOW)
    other = replace(application, product_amount=Entered("1.5", "fl_oz"))
    with pytest.raises(Refused) as refused:
        record_application(application=other, by=house.technician, now=NOW)
    assert refused.value.code == "reused_reference"
    assert ApplicationRecord.objects.count() == 1


def test_too_much_is_recorded_and_judged(house: House) -> None:
    application = house.application(product_amount=Entered("1.601", "fl_oz"))
    done = record_application(application=application, by=house.technician, now=NOW)
    rate = next(one for one in done.judgements if one.code == "rate")
    # 1.601 / 1.6 = 1.000625, to four decimals 1.0006
    assert (rate.severity, rate.sentence) == (
        "violation",
        "Rate 1.0006 fl oz per 1,000 sq ft; the most is 1.00 fl oz per 1,000 sq ft.",
    )
    assert rate.clause == "Demonstration A SC, label of Jan 1, 2026, p. 3"


def test_a_return_inside_the_interval_is_recorded_and_judged(house: House) -> None:
    week_ago = house.application(
        started_at=NOW - timedelta(days=6, hours=1), finished_at=NOW - timedelta(days=6)
    )
    record_application(application=week_ago, by=house.technician, now=NOW)
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    interval = next(one for one in done.judgements if one.code == "interval")
    assert (interval.severity, interval.sentence) == (
        "violation",
        "Foundation band was treated 6 days ago; the label asks for 7 days.",
    )


def test_a_missing_amount_is_recorded_and_judged(house: House) -> None:
    application = house.application(product_amount=None, protective_equipment_confirmed=False)
    done = record_application(application=application, by=house.technician, now=NOW)
    assert (done.record.product_ul, done.record.product_amount) == (None, "")
    codes = {one.code: one.sentence for one in done.judgements if one.severity == "warn"}
    assert codes["product_amount"] == (
        "The amount of undiluted product is missing, and 1.6 gal was put out."
    )
    assert codes["protective_equipment"].endswith("was not confirmed.")
    assert "rate" not in {one.code for one in done.judgements}


def test_without_a_license_in_the_state_of_the_property_it_is_a_violation(house: House) -> None:
    house.technician.licenses.all().delete()
    make_license(house.technician, "PA")
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    assert (done.record.license_number, done.record.license_kind) == ("", "")
    license = next(one for one in done.judgements if one.code == "license")
    assert (license.severity, license.sentence) == (
        "violation",
        "Your license is for PA; this property is in OH.",
    )


def test_a_license_that_ran_out_is_named(house: House) -> None:
    house.technician.licenses.update(expires_on=date(2026, 11, 24))
    done = record_application(application=house.application(), by=house.technician, now=NOW)
    license = next(one for one in done.judgements if one.code == "license")
    assert license.sentence == "Your license ran out on Nov 24, 2026."
    house.technician.licenses.update(expires_on=date(2026, 11, 25))
    application = house.application()
    done = record_application(application=application, by=house.technician, now=NOW)
    assert next(one for one in done.judgements if one.code == "license").severity == "note"


def test_recording_takes_a_fixed_number_of_queries(
    house: House, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    zones = [TreatedZone(make_zone(house.place, f"Wall {one}").pk) for one in range(20)]
    for chosen in (zones[:1], zones):
        application = house.application(zones=tuple(chosen))
        # eight of them open the item for the rate, which these zones do not keep
        with django_assert_max_num_queries(59):
            record_application(application=application, by=house.technician, now=NOW)


def test_the_supervisor_is_frozen_by_name_and_license(house: House) -> None:
    house.technician.licenses.all().delete()
    owner = make_person([], house.place.branch, "Owen Hadleigh")
    make_license(owner, "OH", number="DEMO-C-1")
    make_license(
        house.technician, "OH", kind="registered_technician", number="DEMO-T-1", supervisor=owner
    )
    record = record_application(
        application=house.application(), by=house.technician, now=NOW
    ).record
    assert (record.license_number, record.supervisor_license_number) == ("DEMO-T-1", "DEMO-C-1")
    assert record.personal_values.get(field="supervisor_name").value == "Owen Hadleigh"


def test_the_day_is_the_day_at_the_property(house: House) -> None:
    # 10:30 PM of Nov 24 in Ohio is Nov 25 in UTC
    start = datetime(2026, 11, 25, 3, 30, tzinfo=UTC)
    application = house.application(started_at=start, finished_at=start + timedelta(minutes=10))
    record = record_application(application=application, by=house.technician, now=NOW).record
    assert record.applied_on == date(2026, 11, 24)


def test_part_of_a_band_is_counted_by_its_length(house: House) -> None:
    zones = (TreatedZone(house.band.pk, Entered("50", "ft")),)
    record = record_application(
        application=house.application(zones=zones, product_amount=Entered("0.4", "fl_oz")),
        by=house.technician,
        now=NOW,
    ).record
    # 50 ft x (3 + 5) ft = 400 sq ft x 92,903.04; 50 ft = 15,240 mm
    assert (record.area_mm2, record.length_mm) == (37_161_216, 15_240)
    area = record.treated_areas.get()
    assert (area.size, area.size_unit) == ("50", "ft")


def test_several_zones_and_pest_groups_open_a_window_each(house: House) -> None:
    back = make_zone(house.place, "Back wall", run="40", up="3", out="5")
    ant = make_pest("Odorous house ant", PestGroup.ANTS)
    house.use.pests.add(ant)
    application = house.application(
        zones=(TreatedZone(house.band.pk), TreatedZone(back.pk)),
        pest_ids=(house.pest.pk, ant.pk),
    )
    record = record_application(application=application, by=house.technician, now=NOW).record
    assert record.area_mm2 == 148_644_864 + 29_728_973  # 320 sq ft x 92,903.04 = 29,728,972.8
    assert set(ResidualWindow.objects.values_list("zone_id", "pest_group")) == {
        (zone.pk, group) for zone in (house.band, back) for group in ("ants", "overwintering")
    }
    assert ZoneProtection.objects.filter(counts=True).count() == 4


def test_work_without_a_product_opens_no_window_and_ends_none(house: House) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    before = ZoneProtection.objects.values_list("pk", "window_id", "counts")
    kept = list(before)
    application = house.application(
        label_use_id=None, product_amount=None, finished_amount=None, method="crack_crevice"
    )
    done = record_application(application=application, by=house.technician, now=NOW)
    assert (done.record.product_name, done.judgements) == ("", ())
    assert ResidualWindow.objects.count() == 1
    assert list(before.all()) == kept
    assert verify(house.place.branch_id).is_whole


def test_weather_equipment_device_and_visit_are_frozen(house: House) -> None:
    application = house.application(
        weather=Weather("6", "68.5", "handheld meter"),
        equipment="hand sprayer H-07",
        visit_ref=str(uuid.UUID(int=7)),
        device_time="2026-11-25T14:45:10-05:00",
        device_skew_s=-12,
    )
    record = record_application(application=application, by=house.technician, now=NOW).record
    record.refresh_from_db()
    assert (record.wind_mph, record.temperature_f) == ("6", "68.5")
    assert record.weather_source == "handheld meter"
    assert record.visit_ref == "00000000-0000-0000-0000-000000000007"
    assert (record.device_time, record.device_skew_s) == ("2026-11-25T14:45:10-05:00", -12)
    assert record.received_at == NOW


def test_recording_is_noted(house: House) -> None:
    record = record_application(
        application=house.application(), by=house.technician, now=NOW
    ).record
    event = AuditEvent.objects.get(act="record_application")
    assert event.thing == f"treatments.applicationrecord:{record.pk}"
    assert event.person_name == "Terry Technician"
