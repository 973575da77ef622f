"""The sheets of the rules."""

from __future__ import annotations

from typing import Any

import pytest

from accounts.models import Person
from tests.factories import client_for
from treatments.forms.profiles import NextProfileForm, as_said, as_typed
from treatments.models import JurisdictionProfile
from treatments.services.profiles import load_profiles

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _loaded() -> None:
    load_profiles()


def _row(code: str = "US-MD") -> JurisdictionProfile:
    return JurisdictionProfile.objects.filter(code=code).latest("version")


def _typed(row: JurisdictionProfile, **changes: Any) -> dict[str, Any]:
    """What a browser sends when the form is left as it is shown."""
    form = NextProfileForm(initial=as_typed(row))
    shown = {name: form[name].value() for name in form.fields}
    filled = {name: "" if value is None else value for name, value in shown.items()}
    return filled | {"effective_on": "2026-12-01"} | changes


def test_the_list_says_what_is_verified(technician: Person) -> None:
    page = client_for(technician).get("/rules/").content.decode()
    assert "0 of 27" in page
    assert "COMAR 15.05.01.12" in page
    assert page.count("Not verified") == 27


def test_a_page_says_each_item_with_its_condition(technician: Person) -> None:
    page = client_for(technician).get(_row().get_absolute_url()).content.decode()
    said = "Asked where not (it is bait in stations, or it is all inside a structure, or it is all "
    assert f"{said}within 3 ft of a structure)" in page
    assert "2 years from the day of the record" in page
    assert "Enter the next version" not in page


def test_the_next_version_is_a_copy_with_changes(manager: Person) -> None:
    old, client = _row(), client_for(manager)
    path = f"/rules/{old.pk}/next/"
    assert client.get(path).status_code == 200
    sent = client.post(path, _typed(old, retention_years="3", item_end_time="required"))
    assert sent.status_code == 302
    new = _row()
    assert (new.version, new.retention_years, new.created_by) == (2, 3, manager)
    assert new.fields == {**old.fields, "end_time": "required"}
    assert (new.one_of, new.applies, new.notices) == (old.one_of, old.applies, old.notices)
    page = client.get(new.get_absolute_url()).content.decode()
    assert "<del>2 years from the day of the record</del>" in page
    assert "<del>Not asked</del>" in page


@pytest.mark.parametrize(
    "changes",
    [
        {"c0_asked": "is_blue"},
        {"c0_asked": ""},
        {"c0_wanted": "perhaps"},
        {"c0_join": "one"},
        {"c1_join": "any"},  # and the rest of the same item all
        {"c3_number": ""},
        {"c2_number": "-1"},
        {"c2_number": "3.5"},
        {"c0_number": "7"},
        {"c6_about": "item"},
        {"c6_about": "group2", "c6_asked": "diluted"},
        {"c6_about": "start_time", "c6_asked": "diluted", "item_start_time": ""},
        {"w0_item": "shoe_size"},
        {"w0_item": "dilution", "w0_group": "9"},
        {"n0_text": "x", "n0_evidence": "hearsay"},
        {"n0_text": "x" * 500},
        {"retention_years": "-1"},
        {"deadline_amount": "99999999999"},
        {"item_wind_speed": "alternative"},
        {"effective_on": "1999-01-01"},
        {"effective_on": ""},
    ],
)
def test_a_mistake_comes_back_with_what_was_typed(manager: Person, changes: dict[str, str]) -> None:
    old = _row()
    typed = _typed(old, citation="As read on paper", **changes)
    answer = client_for(manager).post(f"/rules/{old.pk}/next/", typed)
    assert answer.status_code == 422
    assert "As read on paper" in answer.content.decode()
    assert _row().version == 1


def test_every_rule_left_as_it_is_shown_stays_as_it_is() -> None:
    for row in JurisdictionProfile.objects.all():
        form = NextProfileForm(_typed(row))
        assert form.is_valid(), (row.code, form.errors)
        said = as_said(form.cleaned_data)
        for name in ("applies", "fields", "one_of", "notices", "retention_years", "citation"):
            assert said[name] == getattr(row, name), (row.code, name)


def test_conditions_ways_and_notices_are_typed_in_rows(manager: Person) -> None:
    old, client = _row("US-OH"), client_for(manager)
    typed = {
        "item_dilution": "alternative",
        "item_product_amount": "alternative",
        "c0_about": "wind_speed", "c0_asked": "outdoor", "c0_join": "all",
        "c1_about": "wind_speed", "c1_asked": "max_distance_from_structure_ft<=",
        "c1_wanted": "no", "c1_number": "3", "c1_join": "all",
        "item_wind_speed": "conditional",
        "w0_item": "dilution", "w0_group": "1", "w0_way": "A",
        "w1_item": "product_amount", "w1_group": "1", "w1_way": "B",
        "n0_text": "A sign at the door.", "n0_evidence": "house",
    }  # fmt: skip
    answer = client.post(f"/rules/{old.pk}/next/", _typed(old, **typed))
    assert answer.status_code == 302, answer.content.decode()
    new = _row("US-OH")
    assert new.fields["wind_speed"] == {
        "ask": "conditional",
        "when": {"all": ["outdoor", {"not": "max_distance_from_structure_ft<=3"}]},
    }
    assert new.one_of == [{"ways": [["dilution"], ["product_amount"]]}]
    assert new.notices == [{"text": "A sign at the door.", "evidence": "house"}]
    page = client.get(new.get_absolute_url()).content.decode()
    assert "Asked where it is outdoors, and not (it is all within 3 ft of a structure)" in page


def test_more_rows_keep_what_was_typed_and_store_nothing(manager: Person) -> None:
    old, client = _row(), client_for(manager)
    typed = _typed(old, citation="As read on paper", c0_number="no number", more="c")
    before = int(typed["rows_c"])
    answer = client.post(f"/rules/{old.pk}/next/", typed)
    page = answer.content.decode()
    assert answer.status_code == 200 and _row().version == 1
    assert "As read on paper" in page and 'value="no number"' in page
    assert f'name="c{before + 2}_about"' in page and f'name="c{before + 3}_about"' not in page
    for count in ("x", "-3", "9" * 40, "61"):
        answer = client.post(f"/rules/{old.pk}/next/", typed | {"rows_c": count})
        assert answer.status_code == 200
        assert 'name="c60_about"' not in answer.content.decode()


def test_a_condition_that_rows_cannot_say_is_named(manager: Person) -> None:
    row = _row()
    JurisdictionProfile.objects.filter(pk=row.pk).update(
        applies={"all": [{"any": ["device", "outdoor"]}]}
    )
    answer = client_for(manager).get(f"/rules/{row.pk}/next/")
    assert answer.status_code == 422
    assert "nested deeper than rows can say" in answer.content.decode()


def test_a_second_person_verifies_on_the_page(manager: Person) -> None:
    client, row = client_for(manager), _row()
    assert client.post(f"/rules/{row.pk}/verify/").status_code == 302
    page = client.get(row.get_absolute_url()).content.decode()
    assert "Verified by Morgan Manager." in page
    assert "I compared it" not in page


def test_what_is_from_memory_is_refused_with_a_sentence(manager: Person) -> None:
    answer = client_for(manager).post(f"/rules/{_row('US-WA').pk}/verify/")
    assert answer.status_code in (400, 403, 409, 422)
    assert "Read the rule" in answer.content.decode()
