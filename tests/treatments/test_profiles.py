"""Profiles in the table, frozen in records, guarded and verified."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core.management import call_command

from accounts.models import Person
from accounts.refusals import Refused
from tests.attacks import UPDATES, fast_delete, refused
from tests.factories import make_license, make_pest, make_record
from tests.treatments.conftest import NOW, House
from treatments.models import ApplicationRecord, JurisdictionProfile, LogEntry
from treatments.rules.applications import Weather, digest_of
from treatments.selectors.checks import preview
from treatments.selectors.log import verify
from treatments.selectors.payloads import RECORD_COLUMNS, payloads_of
from treatments.services.profile_verification import verify_profile
from treatments.services.profile_versions import supersede_profile
from treatments.services.profiles import load_profiles
from treatments.services.recording import Recorded, record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
DAY = timedelta(days=1)


@pytest.fixture
def loaded() -> None:
    load_profiles()


def _row(code: str) -> JurisdictionProfile:
    return JurisdictionProfile.objects.get(code=code)


def _said(row: JurisdictionProfile, **changes: Any) -> dict[str, Any]:
    names = (
        *("citation", "evidence", "applies", "fields", "one_of", "notices", "prescribed_text"),
        *("retention_years", "retention_anchor", "retention_evidence", "deadline_kind"),
        *("deadline_amount", "deadline_evidence", "unlisted_pest", "unlisted_method"),
    )
    return {name: getattr(row, name) for name in names} | changes


def _gaps(done: Recorded) -> list[tuple[str, str, str]]:
    rows = [one for one in done.judgements if one.code in ("A01", "A02")]
    return [(one.severity, one.sentence, one.clause) for one in rows]


def _record(house: House, now: datetime = NOW, **changes: Any) -> Recorded:
    return record_application(
        application=house.application(**changes), by=house.technician, now=now
    )


def test_loading_again_changes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("load_profiles")
    assert capsys.readouterr().out.startswith("27 new profiles.")
    before = list(JurisdictionProfile.objects.order_by("pk").values())
    assert load_profiles() == 0
    assert list(JurisdictionProfile.objects.order_by("pk").values()) == before


@pytest.mark.usefixtures("loaded")
def test_a_record_freezes_the_rules_it_follows(house: House) -> None:
    record = _record(house).record
    assert record.profile_codes == ["FIRM/1", "US-OH/1"]
    # OAC 901:5-11-10 (read): the same day at the property, Nov 25 in Ohio ends at 5:00 UTC
    assert record.complete_by == datetime(2026, 11, 26, 5, 0, tzinfo=UTC)
    # the firm's seven years are longer than Ohio's three
    assert record.retain_until == date(2033, 11, 25)
    # 1.6 fl oz on 1,600 sq ft (40 ft x 40 ft of band)
    assert record.rate_applied == "1.00 fl oz per 1,000 sq ft"
    # 1.6 fl oz x 0.666667 lb/gal / 128 = 0.00833334 lb in 1.6 gal x 8.34 lb/gal: 0.0625 %
    assert record.percent_active == "0.0625"
    assert _row("US-OH").used_at == NOW
    assert _row("US-MN").used_at is None


@pytest.mark.usefixtures("loaded")
def test_what_is_missing_warns_while_nobody_verified_the_rule(house: House) -> None:
    done = _record(house)
    # the house has no equipment named; everything else Ohio asks is there
    sentence = "Missing, by a rule that is not verified: method and equipment."
    assert _gaps(done) == [
        ("warn", sentence, "FIRM, the firm's own rule"),
        ("warn", sentence, "US-OH, OAC 901:5-11-10(A)(1)"),
    ]
    assert _gaps(_record(house, equipment="1-gal can")) == []


@pytest.mark.usefixtures("loaded")
def test_a_verified_rule_makes_a_violation_and_stores_the_record(
    house: House, manager: Person
) -> None:
    verify_profile(profile_id=_row("US-OH").pk, by=manager, now=NOW)
    done = _record(house, now=NOW + DAY)
    assert _gaps(done)[1:] == [
        ("violation", "Missing: method and equipment.", "US-OH, OAC 901:5-11-10(A)(1)"),
        (
            "violation",
            "Recorded after Nov 26, 2026, 12:00 AM, when it was due.",
            "US-OH, OAC 901:5-11-10(A)(1)",
        ),
    ]
    assert ApplicationRecord.objects.count() == 1


@pytest.mark.usefixtures("loaded")
def test_a_later_version_does_not_judge_old_work_again(house: House, manager: Person) -> None:
    first = _record(house, equipment="1-gal can").record
    row = _row("US-OH")
    supersede_profile(
        profile_id=row.pk,
        effective_on=date(2026, 11, 25),
        by=manager,
        **_said(row, retention_years=1, fields=row.fields | {"wind_direction": "required"}),
    )
    second = _record(house, equipment="1-gal can")
    first.refresh_from_db()
    assert (first.profile_codes[1], second.record.profile_codes[1]) == ("US-OH/1", "US-OH/2")
    assert [sentence for _, sentence, _ in _gaps(second)] == [
        "Missing, by a rule that is not verified: wind direction."
    ]
    assert first.retain_until == date(2033, 11, 25)
    assert verify(first.branch_id).difference == ""


@pytest.mark.usefixtures("loaded")
def test_what_the_rules_ask_is_kept(house: House) -> None:
    weather = Weather("8", "61", "meter", "WSW", "dry")
    asked = {
        "weather": weather,
        "participants": "Pat Helper",
        "mixing_location": "Shop",
        "location_detail": "North wall only",
        "product_supplier": "Demonstration supply",
    }
    record = _record(house, **asked).record
    kept = (record.wind_direction, record.conditions, record.product_supplier)
    assert kept == ("WSW", "dry", "Demonstration supply")
    values = {row.field: row.value for row in record.personal_values.all()}
    assert values["participants"] == "Pat Helper"
    assert (values["mixing_location"], values["location_detail"]) == ("Shop", "North wall only")
    leaf = LogEntry.objects.get()
    said = json.loads(bytes(leaf.leaf))["payload"]
    assert (said["version"], said["record"]["wind_direction"]) == (2, "WSW")
    assert b"Pat Helper" not in bytes(leaf.leaf)
    assert verify(record.branch_id).difference == ""


def test_a_record_from_before_has_the_leaf_of_before(house: House) -> None:
    """Its columns that came later are empty, so version 1 says exactly what it said."""
    record = make_record(house.band, house.technician, house.use)
    said = payloads_of([record.pk])[record.pk]
    assert said["version"] == 1
    assert tuple(said["record"]) == RECORD_COLUMNS


def test_what_came_later_is_no_part_of_an_older_digest(house: House) -> None:
    application = house.application()
    assert digest_of(replace(application, participants="")) == digest_of(application)
    assert digest_of(replace(application, participants="Pat")) != digest_of(application)


def test_a_wind_from_nowhere_is_refused(house: House) -> None:
    with pytest.raises(Refused, match="sixteen points"):
        _record(house, weather=Weather(wind_direction="UP"))


@pytest.mark.usefixtures("loaded")
def test_a_restricted_product_by_a_technician_without_supervisor(
    house: House, make_restricted: Callable[[House], None]
) -> None:
    """40 CFR 171.303(b)(7): the certified applicator who supervised it."""
    make_restricted(house)
    done = _record(house, equipment="1-gal can")
    assert done.record.profile_codes == ["FIRM/1", "US-FED/1", "US-OH/1"]
    federal = [s for _, s, clause in _gaps(done) if clause.startswith("US-FED")]
    assert federal == ["Missing, by a rule that is not verified: certified applicator in charge."]


@pytest.fixture
def make_restricted() -> Callable[[House], None]:
    """A function that makes the product restricted and the technician not certified."""

    def make(house: House) -> None:
        product = house.use.label_version.product
        product.is_restricted_use = True
        product.save()
        house.technician.licenses.all().delete()
        make_license(house.technician, kind="registered_technician")

    return make


@pytest.mark.usefixtures("loaded")
@pytest.mark.parametrize("attack", UPDATES, ids=lambda attack: attack.__name__.strip("_"))
def test_a_used_or_verified_version_never_changes(
    house: House, manager: Person, attack: Callable[[Any], None]
) -> None:
    _record(house)
    verify_profile(profile_id=_row("US-TX").pk, by=manager, now=NOW)
    for code in ("US-OH", "US-TX"):
        row = _row(code)
        refused(attack, row)
        refused(fast_delete, row)


@pytest.mark.usefixtures("loaded")
def test_a_verified_version_is_still_marked_used_and_nothing_else(
    house: House, manager: Person
) -> None:
    row = _row("US-OH")
    verify_profile(profile_id=row.pk, by=manager, now=NOW)
    refused(lambda one: _changed(one, retention_years=1, used_at=NOW), row)
    _record(house)
    assert _row("US-OH").used_at == NOW
    refused(lambda one: _changed(one, used_at=None), row)


def _changed(row: Any, **values: Any) -> None:
    JurisdictionProfile.objects.filter(pk=row.pk).update(**values)


@pytest.mark.usefixtures("loaded")
def test_what_nobody_used_or_verified_may_change() -> None:
    _changed(_row("US-OH"), retention_years=4)
    assert _row("US-OH").retention_years == 4


@pytest.mark.usefixtures("loaded")
def test_who_entered_a_version_is_not_its_second_person(
    manager: Person, second: Person, office: Person
) -> None:
    row = _row("US-OH")
    new = supersede_profile(
        profile_id=row.pk, effective_on=date(2026, 11, 25), by=manager, **_said(row)
    )
    with pytest.raises(Refused, match="Somebody else"):
        verify_profile(profile_id=new.pk, by=manager, now=NOW + 9 * DAY)
    with pytest.raises(Refused, match="Your role"):
        verify_profile(profile_id=new.pk, by=office, now=NOW)
    assert not verify_profile(profile_id=new.pk, by=second, now=NOW).is_one_person_firm
    Person.objects.filter(pk=second.pk).update(is_active=False)
    with pytest.raises(Refused, match="24 hours"):
        verify_profile(profile_id=new.pk, by=manager, now=new.created_at + DAY * 0.99)
    alone = verify_profile(profile_id=new.pk, by=manager, now=new.created_at + DAY)
    assert alone.is_one_person_firm


@pytest.mark.usefixtures("loaded")
def test_memory_is_not_verified(manager: Person) -> None:
    with pytest.raises(Refused, match="signature"):
        verify_profile(profile_id=_row("US-MN").pk, by=manager, now=NOW)


@pytest.mark.usefixtures("loaded")
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"fields": {}}, "asks nothing"),
        ({"fields": {"shoe_size": "required"}}, "not an item"),
        ({"fields": {"wind_speed": "perhaps"}}, "how it is asked"),
        ({"fields": {"wind_speed": "conditional"}}, "condition is missing"),
        ({"fields": {"wind_speed": "alternative"}}, "no group names it"),
        ({"one_of": [{"ways": [[]]}]}, "at least one way"),
        ({"one_of": [{"ways": [["shoe_size"]]}]}, "not an item"),
        ({"applies": "is_blue"}, "not a condition"),
        ({"retention_years": 101}, "Years run"),
        ({"deadline_amount": 10_000}, "not possible"),
    ],
)
def test_a_version_with_a_mistake_is_refused(
    manager: Person, changes: dict[str, Any], words: str
) -> None:
    row = _row("US-OH")
    with pytest.raises(Refused, match=words):
        supersede_profile(
            profile_id=row.pk, effective_on=NOW.date(), by=manager, **_said(row, **changes)
        )
    assert JurisdictionProfile.objects.filter(code="US-OH").count() == 1


@pytest.mark.usefixtures("loaded")
@pytest.mark.parametrize("is_verified", [True, False])
def test_only_a_verified_no_refuses_a_pest_the_label_does_not_name(
    house: House, manager: Person, second: Person, is_verified: bool
) -> None:
    row = _row("US-OH")
    new = supersede_profile(
        profile_id=row.pk,
        effective_on=date(2026, 11, 25),
        by=manager,
        **_said(row, unlisted_pest="no", unlisted_method="no"),
    )
    if is_verified:
        verify_profile(profile_id=new.pk, by=second, now=NOW)
    ant = make_pest("House ant")
    shown = preview(
        person=house.technician,
        property_id=house.place.pk,
        zone_ids=[house.band.pk],
        label_use_id=house.use.pk,
        method="foam",
        pest_ids=[ant.pk],
        tank_gal=None,
        on=NOW.date(),
    )
    judged = {one.code: one for one in shown.judgements if one.code in ("pest", "method")}
    severity = "refuse" if is_verified else "warn"
    assert [one.severity for one in judged.values()] == [severity, severity]
    assert ("US-OH, OAC 901:5-11-10(A)(1)" in judged["pest"].clause) is is_verified
    assert ("US-OH, OAC 901:5-11-10(A)(1)" in judged["method"].clause) is is_verified
