"""Entries against the rules of the states: frozen versions, gaps that close, deadlines."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from html import unescape
from typing import Any

import pytest

from accounts.models import Person
from tests.factories import client_for, make_label, make_product
from tests.refusing import refused
from tests.treatments.conftest import NOW, House
from tests.treatments.correction_cases import LATER, corrected, fill, is_whole, text, voided
from treatments.models import ApplicationRecord, JurisdictionProfile, LabelUse
from treatments.rules.corrections import FIELD_WORDS, Value
from treatments.rules.effective import is_late
from treatments.selectors.entries import facts_of
from treatments.selectors.entry_history import history_for
from treatments.selectors.entry_rules import gaps_to_fill
from treatments.selectors.notices import personal
from treatments.services.profile_verification import verify_profile
from treatments.services.profile_versions import supersede_profile
from treatments.services.profiles import load_profiles
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
DAY = timedelta(days=1)
OHIO = "US-OH, OAC 901:5-11-10(A)(1)"


@pytest.fixture
def loaded(manager: Person) -> None:
    """Our rules, that of Ohio verified."""
    load_profiles()
    verify_profile(profile_id=_row("US-OH").pk, by=manager, now=NOW)


@pytest.fixture
def judged(loaded: None, house: House) -> ApplicationRecord:
    """A record without equipment, which Ohio asks for; it came the day after."""
    return record_application(
        application=house.application(), by=house.technician, now=NOW + DAY
    ).record


def _row(code: str) -> JurisdictionProfile:
    return JurisdictionProfile.objects.filter(code=code).order_by("version")[0]


def _said(row: JurisdictionProfile, **changes: Any) -> dict[str, Any]:
    names = (
        *("citation", "evidence", "applies", "fields", "one_of", "notices", "prescribed_text"),
        *("retention_years", "retention_anchor", "retention_evidence", "deadline_kind"),
        *("deadline_amount", "deadline_evidence", "unlisted_pest", "unlisted_method"),
    )
    return {name: getattr(row, name) for name in names} | changes


def _gaps(record: ApplicationRecord) -> list[tuple[str, str, str]]:
    rows = [one for one in record.judgements.all() if one.code in ("A01", "A02")]
    return [(one.code, one.severity, one.clause.partition(",")[0]) for one in rows]


NEW: dict[str, Value] = {
    "wind_direction": "WSW",
    "conditions": "Dry, overcast",
    "participants": "Pat Helper",
    "location_detail": "Behind the barn",
    "mixing_location": "At the truck",
    "product_supplier": "Demonstration Dealer",
    "customer_phone": "+1 419 555 0134",
}
KEPT_BESIDE = ("participants", "location_detail", "mixing_location", "customer_phone")


@pytest.mark.parametrize("field", NEW)
def test_what_the_rules_ask_for_is_filled_and_corrected(
    house: House, record: ApplicationRecord, manager: Person, field: str
) -> None:
    assert facts_of(record)[field] == ""
    after = fill(record, house.technician, **{field: NEW[field]})
    assert facts_of(after) == facts_of(record) | {field: NEW[field]}
    if field in KEPT_BESIDE:
        assert personal(after)[field] == NEW[field]
    other: Value = "NNE" if field == "wind_direction" else "Other"
    again = corrected(after, house.technician, manager, **{field: other})
    assert facts_of(again)[field] == other
    assert is_whole(house)


def test_a_phone_that_is_a_letter_is_refused(house: House, record: ApplicationRecord) -> None:
    with refused("text"):
        fill(record, house.technician, customer_phone="1" * 41)
    with refused("weather"):
        fill(record, house.technician, wind_direction="X")


def test_a_gap_that_is_filled_is_judged_no_more(house: House, judged: ApplicationRecord) -> None:
    assert _gaps(judged) == [
        ("A01", "warn", "FIRM"),
        ("A01", "violation", "US-OH"),
        ("A02", "violation", "US-OH"),
    ]
    late = judged.judgements.get(code="A02").sentence
    after = fill(judged, house.technician, equipment="1-gal can")
    # it is complete now; that it came late stays true
    assert _gaps(after) == [("A02", "violation", "US-OH")]
    assert after.judgements.get(code="A02").sentence == late
    assert _gaps(judged)[1] == ("A01", "violation", "US-OH")
    assert is_whole(house)


def test_what_one_takes_away_is_missing(loaded: None, house: House, manager: Person) -> None:
    record = record_application(
        application=house.application(equipment="1-gal can"), by=house.technician, now=NOW
    ).record
    assert _gaps(record) == []
    after = corrected(record, house.technician, manager, equipment="")
    assert _gaps(after) == [("A01", "warn", "FIRM"), ("A01", "violation", "US-OH")]


def test_a_later_version_judges_no_entry_of_old_work(
    house: House, judged: ApplicationRecord, manager: Person
) -> None:
    row = _row("US-OH")
    fields = row.fields | {"wind_direction": "required"}
    supersede_profile(
        profile_id=row.pk, effective_on=NOW.date(), by=manager, **_said(row, fields=fields)
    )
    after = fill(judged, house.technician, equipment="1-gal can")
    assert after.profile_codes == judged.profile_codes == ["FIRM/1", "US-OH/1"]
    assert [code for code, _, _ in _gaps(after)] == ["A02"]
    # another direction is another job, and the rule of that day is still the frozen one
    other = make_label(make_product("Demonstration B"), pests=[house.pest]).pk
    again = corrected(after, house.technician, manager, direction=other)
    assert again.profile_codes == ["FIRM/1", "US-OH/1"]


def test_another_day_has_the_rules_of_that_day(
    house: House, judged: ApplicationRecord, manager: Person
) -> None:
    day = date(2026, 11, 24)
    row = _row("US-OH")
    supersede_profile(
        profile_id=row.pk, effective_on=day, by=manager, **_said(row, retention_years=9)
    )
    start = judged.started_at - DAY
    after = corrected(
        judged,
        house.technician,
        manager,
        started_at=text(start),
        finished_at=text(start + timedelta(minutes=20)),
    )
    assert (after.applied_on, after.profile_codes) == (day, ["FIRM/1", "US-OH/2"])
    # the end of that day in Ohio
    assert after.complete_by == judged.complete_by - DAY  # type: ignore[operator]
    assert after.retain_until == date(2035, 11, 24)


def test_rate_and_strength_follow_the_amounts(
    house: House, record: ApplicationRecord, manager: Person
) -> None:
    assert (record.rate_applied, record.percent_active) == ("1.00 fl oz per 1,000 sq ft", "0.0625")
    after = corrected(record, house.technician, manager, product_amount="0.8 fl_oz")
    # half of it on 1,600 sq ft and in 1.6 gal
    assert (after.rate_applied, after.percent_active) == ("0.50 fl oz per 1,000 sq ft", "0.0312")
    wider = corrected(after, house.technician, manager, zones={str(house.band.pk): "100 ft"})
    assert wider.rate_applied == "1.00 fl oz per 1,000 sq ft"
    void = voided(wider, house.technician, manager)
    assert (void.rate_applied, void.percent_active) == ("", "")
    assert is_whole(house)


def test_a_record_from_before_the_rules_follows_none(
    house: House, record: ApplicationRecord
) -> None:
    assert record.profile_codes == []
    load_profiles()
    after = fill(record, house.technician, wind_mph="4")
    assert after.profile_codes == [] and _gaps(after) == [] and after.complete_by is None


@pytest.mark.parametrize(
    ("entered", "complete_by", "expected"),
    [
        # 8-settled: late after the deadline of the rules, else 14 days (house rule)
        (datetime(2026, 11, 26, 5), datetime(2026, 11, 26, 5), False),
        (datetime(2026, 11, 26, 5, 0, 1), datetime(2026, 11, 26, 5), True),
        (datetime(2026, 12, 30), datetime(2026, 12, 31), False),
        (datetime(2026, 12, 9), None, False),
        (datetime(2026, 12, 10), None, True),
    ],
)
def test_late_is_after_the_deadline(
    entered: datetime, complete_by: datetime | None, expected: bool
) -> None:
    assert is_late(date(2026, 11, 25), entered, complete_by) is expected


def test_an_addendum_after_the_deadline_is_flagged(
    house: House, judged: ApplicationRecord, record: ApplicationRecord
) -> None:
    for one, expected in ((judged, True), (record, False)):
        after = fill(one, house.technician, equipment="Can")
        history = history_for(house.technician, after)
        # LATER is an hour after the work; what came a day later is late, and so is its addendum
        assert history.versions[1].is_late is expected, one
    assert judged.complete_by > LATER  # type: ignore[operator]


def test_the_page_and_the_form_say_what_which_rule_misses(
    house: House, judged: ApplicationRecord
) -> None:
    client = client_for(house.technician)
    page = client.get(f"/record/{judged.pk}/").content.decode()
    assert "<b>Gaps.</b>" in page and "Missing: method and equipment." in page
    gaps = gaps_to_fill(judged)
    assert gaps.fields[0] == "equipment" and set(gaps.fields) < set(FIELD_WORDS)
    assert OHIO in gaps.asked["equipment"] and "FIRM" in gaps.asked["equipment"]
    form = client.get(f"/record/{judged.pk}/fill/").content.decode()
    assert f"Asked by FIRM, the firm's own rule; {OHIO}." in unescape(form)
    assert "the firm&#x27;s own rule" in form
    after = fill(judged, house.technician, equipment="1-gal can")
    assert "<b>Gaps.</b>" not in client.get(f"/record/{after.pk}/").content.decode()
    assert gaps_to_fill(after).asked == {}


def test_what_no_field_answers_is_named(house: House, manager: Person) -> None:
    load_profiles()
    house.place.zip_code = ""
    house.place.county = ""
    house.place.state = "NJ"
    house.place.save()
    record = record_application(
        application=house.application(), by=house.technician, now=NOW
    ).record
    sentence = gaps_to_fill(record).sentence
    assert "Missing, and no field here:" in sentence and "county (US-NJ" in sentence
    # what the property says later is not what the record says
    house.place.county = "Sussex"
    house.place.save()
    after = fill(record, house.technician, equipment="Can")
    assert any("county" in one.sentence for one in after.judgements.filter(code="A01"))


@pytest.mark.parametrize("is_in_water", [True, False])
def test_finished_spray_is_missing_only_where_there_is_some(
    loaded: None, house: House, is_in_water: bool
) -> None:
    # regulations 7.2: finished amount and concentration "if mixed"; Ohio asks for both (read)
    if not is_in_water:
        product = house.use.label_version.product
        make_label(
            product,
            pests=[house.pest],
            label_date=date(2026, 2, 1),
            effective_on=date(2026, 2, 1),
            use={"rate_max": 1, "per_gallon": None, "gallons_per_1000": None},
        )
    use = house.use if is_in_water else LabelUse.objects.exclude(pk=house.use.pk).get()
    record = record_application(
        application=house.application(
            finished_amount=None, equipment="Spreader", label_use_id=use.pk
        ),
        by=house.technician,
        now=NOW,
    ).record
    missing = " ".join(one.sentence for one in record.judgements.filter(code="A01"))
    assert ("finished spray" in missing) is is_in_water
