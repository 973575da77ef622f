"""Registering products and their active ingredients."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from accounts.guards import person_of, requires
from accounts.permissions import Permission
from accounts.views.one_form import FormPage, posted
from treatments.forms.products import IngredientForm, ProductForm
from treatments.rules.label_entry import NewIngredient
from treatments.selectors.label_copies import product_as_entered
from treatments.selectors.label_pages import ingredient_row, product_for
from treatments.services.products import (
    add_ingredient,
    edit_ingredient,
    edit_product,
    register_product,
    remove_ingredient,
)
from treatments.views.label_forms import new_form, product_form

UNTIL = "A product changes until a label of it is verified or used."


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """Register a product, then go to where its ingredients and its label are entered."""
    words = FormPage(
        "Register a product",
        "Register the product",
        reverse("labels"),
        "The product is registered. Enter its active ingredients next, then its label.",
        source="Copy what is printed on the label; the active ingredients follow.",
        two=True,
    )
    return new_form(
        request,
        ProductForm(posted(request)),
        words,
        lambda entered: register_product(by=person_of(request), **entered),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a product that was entered wrong."""
    product = product_for(pk)
    known = product_as_entered(product)
    words = FormPage(
        f"Change {product.name}",
        "Save the product",
        product.get_absolute_url(),
        "The product is changed.",
        UNTIL,
        two=True,
    )
    return product_form(
        request,
        product,
        ProductForm(posted(request), initial=vars(known)),
        words,
        lambda entered: edit_product(
            product_id=pk, by=person_of(request), ingredients=known.ingredients, **entered
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def ingredient_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one active ingredient."""
    product = product_for(pk)
    words = FormPage(
        f"Add an active ingredient of {product.name}",
        "Add the ingredient",
        product.get_absolute_url(),
        "The active ingredient is added.",
        UNTIL,
        two=True,
    )
    return product_form(
        request,
        product,
        IngredientForm(posted(request)),
        words,
        lambda entered: add_ingredient(
            product_id=pk, ingredient=NewIngredient(**entered), by=person_of(request)
        ),
    )


@requires(Permission.EDIT_LABELS)
@require_http_methods(["GET", "POST"])
def ingredient_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Write one active ingredient anew."""
    row = ingredient_row(pk)
    known: dict[str, Any] = {name: getattr(row.ingredient, name) for name in NAMES}
    known |= {name: getattr(row, name) for name in NUMBERS}
    words = FormPage(
        f"Change {row.ingredient} of {row.product.name}",
        "Save the ingredient",
        row.product.get_absolute_url(),
        "The active ingredient is changed.",
        UNTIL,
        two=True,
    )
    return product_form(
        request,
        row.product,
        IngredientForm(posted(request), initial=known),
        words,
        lambda entered: edit_ingredient(
            product_ingredient_id=pk, ingredient=NewIngredient(**entered), by=person_of(request)
        ),
    )


NAMES, NUMBERS = (
    ("common_name", "irac_group", "irac_scheme"),
    ("percent_by_weight", "pounds_per_gallon"),
)


@requires(Permission.EDIT_LABELS)
@require_POST
def ingredient_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take one active ingredient away."""
    product = ingredient_row(pk).product
    remove_ingredient(product_ingredient_id=pk, by=person_of(request))
    return redirect(product)
