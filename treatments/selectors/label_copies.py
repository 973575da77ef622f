"""Rows of a label as they were entered: to copy, compare and export them."""

from __future__ import annotations

from typing import Any

from sites.selectors.pests import pests
from treatments.models import LabelLimit, LabelUse, LabelVersion, Product
from treatments.rules.label_entry import (
    NewDirection,
    NewIngredient,
    NewLabel,
    NewLimit,
    NewProduct,
    NewProtection,
)
from treatments.rules.label_file import write

DIRECTION_FIELDS = tuple(
    name
    for name in NewDirection.__dataclass_fields__
    if name not in ("pest_ids", "places", "methods")
)
LABEL_FIELDS = tuple(
    name
    for name in NewLabel.__dataclass_fields__
    if name not in ("directions", "limits", "protections", "prohibited_methods", "pages")
)


def as_entered(version: LabelVersion) -> NewLabel:
    """One label with its rows in the order they were entered."""
    return NewLabel(
        **_fields(version, LABEL_FIELDS),
        prohibited_methods=tuple(version.prohibited_methods),
        pages=dict(version.pages),
        directions=directions_as_entered(version),
        limits=tuple(limit_as_entered(row) for row in version.limits.select_related("label_use")),
        protections=tuple(
            NewProtection(row.task, row.item, row.page, tuple(row.respirators))
            for row in version.protections.all()
        ),
    )


def directions_as_entered(version: LabelVersion) -> tuple[NewDirection, ...]:
    """The directions for use of one label in the order they were entered."""
    return tuple(direction_as_entered(use) for use in version.uses.prefetch_related("pests"))


def direction_as_entered(use: LabelUse) -> NewDirection:
    """One direction for use."""
    return NewDirection(
        **_fields(use, DIRECTION_FIELDS),
        places=tuple(use.places),
        methods=tuple(use.methods),
        pest_ids=tuple(sorted(pest.pk for pest in use.pests.all())),
    )


def limit_as_entered(row: LabelLimit) -> NewLimit:
    """One limit; its direction by title."""
    names = tuple(name for name in NewLimit.__dataclass_fields__ if name != "direction")
    return NewLimit(**_fields(row, names), direction=row.label_use.title if row.label_use else "")


def product_as_entered(product: Product) -> NewProduct:
    """One product with its ingredients."""
    names = tuple(name for name in NewProduct.__dataclass_fields__ if name != "ingredients")
    rows = product.ingredients.select_related("ingredient").order_by("pk")
    return NewProduct(
        **_fields(product, names),
        ingredients=tuple(
            NewIngredient(
                row.ingredient.common_name,
                row.percent_by_weight,
                row.pounds_per_gallon,
                row.ingredient.irac_group,
                row.ingredient.irac_scheme,
            )
            for row in rows
        ),
    )


def label_document(version: LabelVersion) -> dict[str, Any]:
    """One label with its product in the format of a label file."""
    names = {pest.pk: pest.common_name for pest in pests()}
    return write(product_as_entered(version.product), as_entered(version), names)


def _fields(row: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}
