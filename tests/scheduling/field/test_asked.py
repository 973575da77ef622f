"""The record form asks for what the rules of the place ask, and says which rule it is."""

from __future__ import annotations

import pytest

from tests.scheduling.field.conftest import Stop
from treatments.models import ApplicationRecord, JurisdictionProfile
from treatments.services.profiles import load_profiles

pytestmark = pytest.mark.django_db
WHO = "Asked by US-OH, OAC 901:5-11-10(A)(1)."


def _page(stop: Stop) -> str:
    return stop.client.get(f"{stop.path}record/{stop.choice}").content.decode()


def _also_ask(**fields: object) -> None:
    row = JurisdictionProfile.objects.get(code="US-OH")
    row.fields |= fields
    row.save()


def test_without_rules_nothing_more_is_asked(stop: Stop) -> None:
    assert "Wind from" not in _page(stop)
    assert "What the rules of this place ask" not in _page(stop)


def test_only_what_a_rule_asks_is_asked_with_its_name(stop: Stop) -> None:
    load_profiles()
    page = _page(stop)
    assert "Wind from" not in page
    assert "Who helped" not in page
    assert "What the rules of this place ask" in page
    assert "OAC 901:5-11-10(A)(1)" in page
    _also_ask(wind_direction="required", participants="if_any", product_supplier="required")
    page = _page(stop)
    assert "Wind from" in page
    assert page.count(WHO) == 3


def test_a_condition_that_does_not_hold_is_not_asked(stop: Stop) -> None:
    load_profiles()
    _also_ask(conditions={"ask": "conditional", "when": "bait_station"})
    assert "Sky and weather" not in _page(stop)
    _also_ask(conditions={"ask": "conditional", "when": "outdoor"})
    assert "Sky and weather" in _page(stop)


def test_what_was_answered_is_stored(stop: Stop) -> None:
    load_profiles()
    _also_ask(wind_direction="required", participants="if_any", product_supplier="required")
    answered = {"wind_direction": "WSW", "participants": "Pat Helper", "product_supplier": "Depot"}
    assert stop.send(**answered).status_code == 302
    record = ApplicationRecord.objects.latest("pk")
    assert (record.wind_direction, record.product_supplier) == ("WSW", "Depot")
    assert record.personal_values.get(field="participants").value == "Pat Helper"
    assert record.profile_codes == ["FIRM/1", "US-OH/1"]


def test_what_is_missing_is_stored_all_the_same(stop: Stop) -> None:
    load_profiles()
    _also_ask(wind_direction="required")
    assert stop.send().status_code == 302
    said = ApplicationRecord.objects.latest("pk").judgements.filter(code="A01", severity="warn")
    assert any("wind direction" in one.sentence for one in said)
