"""Typing a product and its active ingredients: what is refused, and at which field."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from accounts.models import Person
from tests.factories import client_for, make_pest
from tests.treatments.conftest import NOW
from tests.treatments.label_entries import TODAY, label_of, refused_by, register
from treatments.models import (
    LabelVersion,
    Product,
    ProductIngredient,
)
from treatments.rules.label_entry import NewIngredient
from treatments.services.label_verification import verify_label
from treatments.services.labels import complete_label, enter_label
from treatments.services.products import add_ingredient, edit_ingredient, remove_ingredient

pytestmark = [pytest.mark.engine, pytest.mark.django_db]


def test_a_product_without_an_ingredient_is_registered_and_its_label_not_completed(
    manager: Person, second: Person
) -> None:
    product = register(manager, ingredients=())
    label = label_of(product, make_pest().pk)
    assert refused_by(enter_label, label=label, by=manager).facts["field"] == "ingredients"
    draft = enter_label(label=label, by=manager, is_draft=True)
    complete = {"label_version_id": draft.pk, "by": manager, "today": TODAY}
    assert "at least one active ingredient" in refused_by(complete_label, **complete).sentence
    one = NewIngredient("demothrin", Decimal("7.9"))
    row = add_ingredient(product_id=product.pk, ingredient=one, by=manager)
    complete_label(**complete)
    remove_ingredient(product_ingredient_id=row.pk, by=manager)
    verify = {"label_version_id": draft.pk, "by": second, "now": NOW}
    assert refused_by(verify_label, **verify).facts["field"] == "ingredients"


def test_a_device_needs_no_ingredient(manager: Person) -> None:
    device = {"registration_kind": "device", "registration_number": "", "ingredients": ()}
    label = label_of(register(manager, **device), make_pest().pk)
    assert not enter_label(label=label, by=manager).is_draft


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"percent_by_weight": "0"}, "above 0, up to 100"),
        ({"percent_by_weight": "101"}, "above 0, up to 100"),
        ({"percent_by_weight": "95"}, "together are above 100"),
        ({"percent_by_weight": "ten"}, "write a number"),
        ({"percent_by_weight": ""}, "write the number"),
        ({"common_name": " "}, "write the common name"),
        ({"common_name": "Demothrin"}, "stands on the product already"),
        ({"pounds_per_gallon": "-1"}, "above zero"),
    ],
)
def test_an_ingredient_that_cannot_be_comes_back_as_typed(
    manager: Person, fields: dict[str, str], words: str
) -> None:
    product = register(manager)
    typed = {"common_name": "demoprid", "percent_by_weight": "10.6", "irac_group": "4A"} | fields
    answer = client_for(manager).post(f"{product.get_absolute_url()}ingredients/add/", typed)
    page = answer.content.decode()
    assert answer.status_code == 422 and words in page
    assert 'value="4A"' in page
    assert product.ingredients.count() == 1


def test_the_group_of_an_ingredient_is_mended_unless_another_product_holds_it(
    manager: Person,
) -> None:
    row = register(manager).ingredients.get()
    mended = NewIngredient("demothrin", Decimal(10), None, "4A")
    edit_ingredient(product_ingredient_id=row.pk, ingredient=mended, by=manager)
    row = ProductIngredient.objects.select_related("ingredient").get()
    assert (str(row), row.ingredient.irac_group) == ("demothrin 10 %", "4A")
    page = client_for(manager).get(row.product.get_absolute_url()).content.decode()
    assert "10&nbsp;%" in page
    register(manager, name="Demonstration other SC", ingredients=(mended,))
    other = replace(mended, irac_group="3A")
    again = {"product_ingredient_id": row.pk, "ingredient": other, "by": manager}
    assert refused_by(edit_ingredient, **again).facts["field"] == "irac_group"


def test_a_settled_product_offers_to_register_another(
    version: LabelVersion, manager: Person, second: Person
) -> None:
    verify_label(label_version_id=version.pk, by=second, now=NOW)
    row, client = version.product.ingredients.get(), client_for(manager)
    one = NewIngredient("demoprid", Decimal(5))
    add = {"product_id": version.product_id, "ingredient": one, "by": manager}
    assert refused_by(add_ingredient, **add).code == "product_settled"
    base = version.product.get_absolute_url()
    for page in (f"{base}edit/", f"{base}ingredients/add/", f"/ingredients/{row.pk}/edit/"):
        text = client.get(page).content.decode()
        assert "the product stays as it is" in text and 'href="/products/add/"' in text
    assert client.post(f"/ingredients/{row.pk}/remove/").status_code == 422
    assert version.product.ingredients.count() == 1


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"registration_number": ""}, "registration_number", "is missing"),
        ({"registration_kind": "device"}, "registration_number", "has no registration number"),
        ({"name": ""}, "name", "as printed on the label"),
        ({"name": "demonstration a sc"}, "name", "is taken"),
    ],
)
def test_a_product_that_cannot_be_is_said_at_its_field(
    manager: Person, fields: dict[str, str], field: str, words: str
) -> None:
    register(manager)
    typed = {
        "name": "Demonstration K SC", "formulation": "sc", "registration_kind": "section3",
        "registration_number": "99999-131", "establishment_number": "99999-OH-1",
        "signal_word": "caution",
    }  # fmt: skip
    answer = client_for(manager).post("/products/add/", typed | fields)
    assert answer.status_code == 422 and Product.objects.count() == 1
    assert words in str(answer.context["form"].errors[field])
    assert 'value="99999-OH-1"' in answer.content.decode()


def test_a_product_is_changed_with_its_ingredients_kept(manager: Person) -> None:
    product = register(manager)
    client, url = client_for(manager), f"{product.get_absolute_url()}edit/"
    typed = {
        "name": "Demonstration A2 SC", "formulation": "sc", "registration_kind": "section3",
        "registration_number": "99999-101", "signal_word": "warning", "is_restricted_use": "on",
    }  # fmt: skip
    assert client.post(url, typed).status_code == 302
    product.refresh_from_db()
    assert (product.name, product.signal_word, product.is_restricted_use) == (
        "Demonstration A2 SC",
        "warning",
        True,
    )
    assert [str(row) for row in product.ingredients.all()] == ["demothrin 7.9 %"]


def test_the_group_stands_with_the_version_of_its_scheme(manager: Person) -> None:
    """IRAC schemes are versioned (8.0 of 2015 to 11.3 of 2025, read); a later one may regroup."""
    product = register(manager)
    row = product.ingredients.get()
    assert row.ingredient.group_words == "3A"
    new = NewIngredient("demothrin", Decimal("7.9"), Decimal("0.666667"), "3A", "11.3")
    edit_ingredient(product_ingredient_id=row.pk, ingredient=new, by=manager)
    row.ingredient.refresh_from_db()
    assert row.ingredient.group_words == "3A (scheme 11.3)"
    page = client_for(manager).get(product.get_absolute_url()).content.decode()
    assert "3A (scheme 11.3)" in page
