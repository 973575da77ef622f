"""Typing a label: what is refused and at which field, and when it stays as it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any, NoReturn

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse

from accounts.models import Person
from tests.factories import client_for, make_label, make_pest, make_product
from tests.treatments.conftest import NOW, House
from tests.treatments.label_entries import TODAY, label_of, refused_by, register
from treatments.forms.labels import AttachForm, ImportLabelForm, unit_choices
from treatments.models import (
    LabelFile,
    LabelUse,
    LabelVersion,
    Product,
)
from treatments.rules.label_entry import NewLimit, NewProtection
from treatments.rules.label_refusals import refuse_limit_kind, refuse_unit
from treatments.rules.products import DRY, LIQUID, Formulation
from treatments.services.label_files import attach_file
from treatments.services.label_rows import add_protection
from treatments.services.labels import complete_label, edit_label, enter_label
from treatments.services.recording import record_application

pytestmark = [pytest.mark.engine, pytest.mark.django_db]
DIRECTION = {
    "title": "Band", "page": "p. 5", "places": ["soil_band"], "methods": ["perimeter_band"],
    "rate_basis": "area", "rate_unit": "fl_oz", "rate_min": "0.5", "rate_max": "1",
    "mix_basis": "per_finished", "min_interval_days": "0",
}  # fmt: skip
LIMIT = {
    "fact": "wind", "comparison": "at_most", "limit": "8", "severity": "refuse",
    "sentence": "Not above 8 mph.", "page": "p. 5",
}  # fmt: skip


def posted(manager: Person, version: LabelVersion, part: str, fields: dict[str, Any]) -> Any:
    answer: HttpResponse = client_for(manager).post(f"/labels/{version.pk}/{part}/add/", fields)
    return answer


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"rate_min": "2"}, "rate_min", "is above the highest"),
        ({"rate_max": "0"}, "rate_max", "above zero"),
        ({"rate_max": "much"}, "rate_max", "write a number"),
        ({"places": []}, "places", "tick at least one use site"),
        ({"methods": []}, "methods", "tick at least one method"),
        ({"page": ""}, "page", "the page it stands on"),
        ({"title": "Outside band"}, "title", "Another direction"),
        ({"rate_unit": "oz_wt"}, "rate_unit", "without its density"),
        ({"min_gallons_per_1000": "2", "gallons_per_1000": "1"}, "min_gallons_per_1000", "least"),
    ],
)
def test_a_direction_that_cannot_be_is_said_at_its_field(
    version: LabelVersion, manager: Person, fields: dict[str, Any], field: str, words: str
) -> None:
    answer = posted(manager, version, "directions", DIRECTION | {"uses_per_year": "6"} | fields)
    assert answer.status_code == 422 and version.uses.count() == 1
    assert words in str(answer.context["form"].errors[field])
    assert 'value="6"' in answer.content.decode()


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"limit": "-1"}, "limit", "never below zero"),
        ({"comparison": "at_least"}, "comparison", "reads &#x27;at most&#x27;"),
        ({"fact": "tank_mix"}, "comparison", "reads &#x27;not allowed&#x27;"),
        ({"sentence": " "}, "sentence", "copy the words"),
        ({"unit": "fl_oz"}, "unit", "Only an amount"),
        ({"fact": "product_per_area_year"}, "unit", "in which unit"),
        ({"fact": "product_per_area_year", "unit": "oz_wt"}, "unit", "without its density"),
        ({"named": "bifenthrin"}, "named", "names nothing beside itself"),
        ({"fact": "license_category", "comparison": "required"}, "named", "which category"),
        ({"fact": "high_rate_only", "comparison": "required"}, "direction", "needs a lowest rate"),
        ({"fact": "water_ph", "limit": "15"}, "limit", "up to 14"),
    ],
)
def test_a_limit_that_cannot_be_is_said_at_its_field(
    version: LabelVersion, manager: Person, fields: dict[str, Any], field: str, words: str
) -> None:
    answer = posted(manager, version, "limits", LIMIT | fields)
    assert answer.status_code == 422 and version.limits.count() == 2
    assert words in str(answer.context["form"].errors[field])
    assert 'value="p. 5"' in answer.content.decode()


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"precautions": ""}, "precautions", "copy the words"),
        ({"reentry_minutes": "99999999999"}, "reentry_minutes", "not on any label"),
        ({"effective_on": "soon"}, "effective_on", "write the day"),
        ({"effective_on": "2026-02-01"}, "effective_on", "has a label from that day"),
    ],
)
def test_a_label_that_cannot_be_is_said_at_its_field(
    version: LabelVersion, manager: Person, fields: dict[str, Any], field: str, words: str
) -> None:
    typed = {
        "label_date": "2026-11-01", "effective_on": "2026-11-01", "precautions": "Bees.",
        "protective_equipment": "Gloves.", "reentry_text": "Until dry.",
        "page_reentry_text": "p. 9",
    }  # fmt: skip
    url = f"{version.product.get_absolute_url()}labels/add/"
    answer = client_for(manager).post(url, typed | fields)
    assert answer.status_code == 422 and LabelVersion.objects.count() == 1
    assert words in str(answer.context["form"].errors[field])
    assert 'value="p. 9"' in answer.content.decode()


def test_a_named_row_is_entered_and_stands_on_the_page(
    version: LabelVersion, manager: Person
) -> None:
    typed = {"fact": "tank_mix", "comparison": "forbidden", "limit": "0", "named": "bifenthrin"}
    assert posted(manager, version, "limits", LIMIT | typed).status_code == 302
    assert version.limits.get(fact="tank_mix").named == "bifenthrin"
    page = client_for(manager).get(version.get_absolute_url()).content.decode()
    assert "Tank mix with other products: bifenthrin" in page


def test_units_begin_with_how_the_product_is_measured() -> None:
    """Common practice, no source: liquids by fl oz, dry products by oz of weight."""
    assert {unit_choices(one)[0][0] for one in LIQUID} == {"fl_oz"}
    assert {unit_choices(one)[0][0] for one in DRY} == {"oz_wt"}
    kinds = [sorted(unit for unit, _ in unit_choices(one)) for one in Formulation]
    assert all(one == kinds[0] for one in kinds) and "each" in kinds[0]


def test_without_a_density_no_weight_is_a_volume() -> None:
    for formulation in Formulation:
        for unit, refused in (("fl_oz", DRY), ("oz_wt", LIQUID), ("each", frozenset())):
            if formulation in refused:
                assert "density" in refused_by(refuse_unit, unit, formulation, "x").sentence
            else:
                refuse_unit(unit, formulation, "x")
    gel = label_of(Product(pk=1), 1).directions
    year = NewLimit("product_per_area_year", "at_most", Decimal(4), "refuse", "4.", "p. 5")
    refuse_limit_kind(replace(year, unit="gal"), gel)
    assert refused_by(refuse_limit_kind, replace(year, unit="oz_wt"), gel).facts["field"] == "unit"


def test_a_dry_product_is_asked_by_weight_first(manager: Person) -> None:
    granule = make_label(
        make_product("Demonstration G granule", formulation="granule"), is_verified=False
    )
    client = client_for(manager)
    page = client.get(f"/labels/{granule.label_version_id}/directions/add/").content.decode()
    assert page.index('value="oz_wt"') < page.index('value="fl_oz"')


# -- a label that stays as it is --


def locked_pages(version: LabelVersion) -> list[str]:
    use = version.uses.get()
    worn, limit = version.protections.first(), version.limits.first()
    base = version.get_absolute_url()
    rows = [f"/protections/{worn.pk}/edit/"] if worn else []
    rows += [f"/limits/{limit.pk}/edit/"] if limit else []
    parts = ("edit", "directions/add", "limits/add", "protections/add", "files/add")
    return [*rows, f"/directions/{use.pk}/edit/", *(f"{base}{part}/" for part in parts)]


def assert_locked(manager: Person, version: LabelVersion, words: str) -> None:
    client = client_for(manager)
    for url in locked_pages(version):
        for answer, code in ((client.get(url), 200), (client.post(url, DIRECTION | LIMIT), 422)):
            text = answer.content.decode()
            assert answer.status_code == code and words in text, url
            assert f"{version.get_absolute_url()}supersede/" in text


def test_a_superseded_label_offers_its_next_version(version: LabelVersion, manager: Person) -> None:
    worn = NewProtection("apply", "Gloves", "p. 2")
    add_protection(label_version_id=version.pk, protection=worn, by=manager, today=TODAY)
    make_label(version.product, is_verified=False, effective_on=date(2026, 11, 1))
    assert_locked(manager, version, "is superseded")
    old = {"label_version_id": version.pk, "by": manager, "today": date(2026, 10, 31)}
    assert edit_label(**old, precautions="Bees.").precautions == "Bees."


def test_the_older_label_of_a_lot_is_still_entered(version: LabelVersion, manager: Person) -> None:
    label = replace(label_of(version.product, make_pest().pk), effective_on=date(2025, 1, 1))
    draft = enter_label(label=label, by=manager, is_draft=True)
    edit_label(label_version_id=draft.pk, by=manager, today=TODAY, precautions="Bees.")
    assert not complete_label(label_version_id=draft.pk, by=manager, today=TODAY).is_draft


def test_a_used_label_offers_its_next_version(house: House, manager: Person) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    assert_locked(manager, house.use.label_version, "was used and never changes")


def test_the_copy_is_a_draft_one_is_led_to(house: House, manager: Person) -> None:
    record_application(application=house.application(), by=house.technician, now=NOW)
    url = f"{house.use.label_version.get_absolute_url()}supersede/"
    days = {"label_date": "2026-11-20", "effective_on": "2026-12-01"}
    answer = client_for(manager).post(url, days)
    draft = LabelVersion.objects.get(is_draft=True)
    assert answer["Location"] == draft.get_absolute_url()
    assert LabelUse.objects.filter(label_version=draft).count() == 1


# -- files --


class Huge(SimpleUploadedFile):
    """A file of 200 MB that must not be read."""

    def __init__(self) -> None:
        super().__init__("label.pdf", b"%PDF-")
        self.size = 200 * 1024 * 1024

    def read(self, *_: object) -> NoReturn:
        raise AssertionError("read before its size was looked at")


def test_a_file_too_large_is_refused_before_it_is_read(
    version: LabelVersion, manager: Person
) -> None:
    attach = {"label_version_id": version.pk, "kind": "label", "upload": Huge(), "today": TODAY}
    assert "above 20 MB" in refused_by(attach_file, **attach, by=manager).sentence
    form = ImportLabelForm({}, {"file": Huge()})
    assert not form.is_valid() and "above 1 MB" in str(form.errors["file"])
    assert AttachForm({"kind": "label"}, {"file": Huge()}).is_valid()
    assert not LabelFile.objects.exists()


def test_what_is_still_missing_stands_on_the_draft(manager: Person) -> None:
    product = register(manager, ingredients=())
    label = label_of(product, make_pest().pk, directions=(), limits=(), pages={})
    draft = enter_label(label=label, by=manager, is_draft=True)
    page = client_for(manager).get(draft.get_absolute_url()).content.decode()
    for words in ("No direction for use", "No active ingredient", "The page is missing for"):
        assert words in page
    answer = client_for(manager).post(f"{draft.get_absolute_url()}complete/")
    assert answer.status_code == 422 and "at least one direction" in answer.content.decode()
