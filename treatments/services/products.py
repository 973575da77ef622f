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
from treatments.rules.label_refusals import refuse_ingredients, refuse_product
from treatments.rules.products import RegistrationKind
from treatments.rules.registration_numbers import normalize
from treatments.selectors.label_copies import product_as_entered
from treatments.selectors.labels import SETTLED, is_product_settled

if TYPE_CHECKING:
    from accounts.models import Person


@transaction.atomic
def register_product(*, by: Person | None, **facts: Any) -> Product:
    """Register a product once, with its active ingredients; `facts` are those of NewProduct.

    The ingredients may follow. Refused: a name taken, an unknown kind, an ingredient that cannot
    be, a number that is not one of its kind (in one spelling it is stored).
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
    product = _open(product_id)
    new = NewProduct(**facts)
    _refuse(new, but=product_id)
    Product.objects.filter(pk=product_id).update(**_columns(new))
    product.ingredients.all().delete()
    _add_ingredients(product, new.ingredients, by)
    note_event(by=by, act="edit_product", thing=product, name=new.name.strip())
    return Product.objects.get(pk=product_id)


@transaction.atomic
def add_ingredient(
    *, product_id: int, ingredient: NewIngredient, by: Person | None
) -> ProductIngredient:
    """Add an active ingredient to a product, until a label of it was verified or used.

    Refused: one that stands on it already, a percentage out of reach, above 100 together.
    """
    require(by, Permission.EDIT_LABELS)
    product = _open(product_id)
    row = _stored(ProductIngredient(product=product), ingredient, by)
    note_event(by=by, act="add_ingredient", thing=product, name=str(row))
    return row


@transaction.atomic
def edit_ingredient(
    *, product_ingredient_id: int, ingredient: NewIngredient, by: Person | None
) -> ProductIngredient:
    """Write an active ingredient of a product anew, like `add_ingredient`."""
    require(by, Permission.EDIT_LABELS)
    row = _stored(_ingredient_row(product_ingredient_id), ingredient, by)
    note_event(by=by, act="edit_ingredient", thing=row.product, name=str(row))
    return row


@transaction.atomic
def remove_ingredient(*, product_ingredient_id: int, by: Person | None) -> None:
    """Take an active ingredient away from a product, until a label was verified or used."""
    require(by, Permission.EDIT_LABELS)
    row = _ingredient_row(product_ingredient_id)
    note_event(by=by, act="remove_ingredient", thing=row.product, name=str(row))
    row.delete()


def _open(product_id: int) -> Product:
    """The product to change, locked."""
    product = Product.objects.select_for_update().filter(pk=product_id).first()
    if product is None:
        raise Refused("product", "There is no such product.")
    if is_product_settled(product_id):
        raise Refused("product_settled", SETTLED)
    return product


def _ingredient_row(pk: int) -> ProductIngredient:
    row = ProductIngredient.objects.select_related("ingredient").filter(pk=pk).first()
    if row is None:
        raise Refused("product", "This ingredient is not there any more. Open the product again.")
    _open(row.product_id)
    return row


def _stored(row: ProductIngredient, new: NewIngredient, by: Person | None) -> ProductIngredient:
    others = product_as_entered(row.product).ingredients
    if row.pk:
        others = tuple(one for one in others if one.common_name != row.ingredient.common_name)
    refuse_ingredients((*others, new))
    row.ingredient = _grouped(_ingredient(new, by), new, row.pk or 0)
    row.percent_by_weight = new.percent_by_weight
    row.pounds_per_gallon = new.pounds_per_gallon
    row.created_by = by
    row.save()
    return row


def _grouped(known: ActiveIngredient, new: NewIngredient, but: int) -> ActiveIngredient:
    """The ingredient with the group typed; one that another product holds keeps its own."""
    group = new.irac_group.strip()
    if not group or group.casefold() == known.irac_group.casefold():
        return _of_scheme(known, new)
    elsewhere = ProductIngredient.objects.filter(ingredient=known).exclude(pk=but)
    if known.irac_group and elsewhere.exists():
        raise Refused(
            "product",
            f"{known.common_name} is in group {known.irac_group} on another product. "
            "Read the group again, or leave it empty.",
            field="irac_group",
        )
    known.irac_group, known.irac_scheme = group, new.irac_scheme.strip()
    known.save(update_fields=["irac_group", "irac_scheme"])
    return known


def _of_scheme(known: ActiveIngredient, new: NewIngredient) -> ActiveIngredient:
    """The same group, read in a version of the scheme: the newest that was typed is kept."""
    scheme = new.irac_scheme.strip()
    if known.irac_group and scheme not in ("", known.irac_scheme):
        known.irac_scheme = scheme
        known.save(update_fields=["irac_scheme"])
    return known


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
        common_name=name,
        irac_group=new.irac_group.strip(),
        irac_scheme=new.irac_scheme.strip(),
        created_by=by,
    )
