"""Registering products with their active ingredients."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import ActiveIngredient, Product, ProductIngredient
from treatments.rules.label_entry import NewIngredient, NewProduct
from treatments.rules.label_refusals import refuse_product
from treatments.rules.products import RegistrationKind
from treatments.rules.registration_numbers import normalize
from treatments.selectors.labels import is_product_settled

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def register_product(*, by: Person | None, **facts: Any) -> Product:
    """Register a product once, with its active ingredients; `facts` are those of NewProduct.

    Refused: a name taken, no ingredient, an unknown kind, a number that is not one of its kind
    (in one spelling it is stored).
    """
    require(by, Permission.EDIT_LABELS)
    new = NewProduct(**facts)
    _refuse(new)
    product = Product.objects.create(**_columns(new), created_by=by)
    _add_ingredients(product, new.ingredients, by)
    note_event(by=by, act="register_product", thing=product, name=product.name)
    return product


@transaction.atomic
def edit_product(*, product_id: int, by: Person | None, **facts: Any) -> Product:
    """Change a product that was entered wrong; `facts` are those of NewProduct.

    Refused once a label of it was verified or used: what was recorded keeps its meaning.
    """
    require(by, Permission.EDIT_LABELS)
    product = Product.objects.select_for_update().filter(pk=product_id).first()
    if product is None:
        raise Refused("product", "There is no such product.")
    if is_product_settled(product_id):
        raise Refused(
            "product_settled",
            "A label of this product was verified or used. Register what differs as a new product.",
        )
    new = NewProduct(**facts)
    _refuse(new, but=product_id)
    Product.objects.filter(pk=product_id).update(**_columns(new))
    product.ingredients.all().delete()
    _add_ingredients(product, new.ingredients, by)
    note_event(by=by, act="edit_product", thing=product, name=new.name.strip())
    return Product.objects.get(pk=product_id)


def _refuse(new: NewProduct, but: int = 0) -> None:
    refuse_product(new)
    if Product.objects.filter(name__iexact=new.name.strip()).exclude(pk=but).exists():
        sentence = f"The name {new.name.strip()[:60]!r} is taken. Open that product instead."
        raise Refused("product", sentence, field="name")


def _columns(new: NewProduct) -> dict[str, Any]:
    columns = asdict(new)
    del columns["ingredients"]
    kind = RegistrationKind(new.registration_kind)
    return columns | {
        "name": new.name.strip(),
        "registration_number": normalize(new.registration_number, kind),
        "establishment_number": new.establishment_number.strip(),
    }


def _add_ingredients(
    product: Product, ingredients: Sequence[NewIngredient], by: Person | None
) -> None:
    for new in ingredients:
        ProductIngredient.objects.create(
            product=product,
            ingredient=_ingredient(new, by),
            percent_by_weight=new.percent_by_weight,
            pounds_per_gallon=new.pounds_per_gallon,
            created_by=by,
        )


def _ingredient(new: NewIngredient, by: Person | None) -> ActiveIngredient:
    """One row an ingredient, however its name is capitalized; its group is kept as first given."""
    name = new.common_name.strip()
    known = ActiveIngredient.objects.filter(common_name__iexact=name).first()
    return known or ActiveIngredient.objects.create(
        common_name=name, irac_group=new.irac_group.strip(), created_by=by
    )
