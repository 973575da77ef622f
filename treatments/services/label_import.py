"""Importing a label from a file of our format: whole or not at all."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from sites.selectors.pests import pests
from treatments.models import LabelVersion, Product
from treatments.rules.label_entry import NewLabel, NewProduct
from treatments.rules.label_file import FileRefused, parse, read
from treatments.rules.products import RegistrationKind
from treatments.rules.registration_numbers import normalize
from treatments.selectors.label_copies import product_as_entered
from treatments.services.labels import enter_label
from treatments.services.products import register_product

if TYPE_CHECKING:
    from accounts.models import Person


@dataclass(frozen=True)
class Imported:
    """What an import did, or would do; a dry run stores nothing."""

    version: LabelVersion
    words: str
    is_new_product: bool
    directions: int
    limits: int


def import_label(*, raw: bytes, by: Person | None, dry_run: bool = False) -> Imported:
    """Enter the label of a file, with its product when that is not registered yet.

    Refused with every mistake and its row: a wrong shape, an unknown pest, a product that is
    registered differently, a label from the same day. The label still waits for a second person.
    """
    require(by, Permission.EDIT_LABELS)
    pest_ids = {pest.common_name.casefold(): pest.pk for pest in pests()}
    product, label = read(parse(raw), pest_ids)
    with transaction.atomic():
        imported = _entered(product, label, by)
        if dry_run:
            transaction.set_rollback(True)
    return imported


def _entered(new: NewProduct, label: NewLabel, by: Person | None) -> Imported:
    known = Product.objects.filter(name__iexact=new.name.strip()).first()
    if known is not None:
        _refuse_another(known, new)
    product = known or _registered(new, by)
    try:
        version = enter_label(label=replace(label, product_id=product.pk), by=by)
    except Refused as refused:
        raise _in_file("label", refused) from refused
    return Imported(version, str(version), known is None, len(label.directions), len(label.limits))


def _registered(new: NewProduct, by: Person | None) -> Product:
    try:
        return register_product(
            **{name: getattr(new, name) for name in NewProduct.__dataclass_fields__}, by=by
        )
    except Refused as refused:
        raise _in_file("product", refused) from refused


def _in_file(path: str, refused: Refused) -> FileRefused:
    field = refused.facts.get("field")
    where = f"{path}.{field}" if field else path
    return FileRefused([f"{where}: {refused.sentence}"])


def _refuse_another(known: Product, new: NewProduct) -> None:
    """A file never changes a product: what differs is listed."""
    here = asdict(product_as_entered(known))
    there = asdict(new) | {"name": here["name"], "registration_number": _number(new)}
    for row in here["ingredients"] + there["ingredients"]:
        row["common_name"] = row["common_name"].casefold()
        del row["irac_group"], row["irac_scheme"]
    different = [name for name in here if here[name] != there[name]]
    if different:
        raise FileRefused(
            [f"product.{name}: It differs from {known.name} as registered." for name in different]
        )


def _number(new: NewProduct) -> str:
    try:
        return normalize(new.registration_number, RegistrationKind(new.registration_kind))
    except Refused as refused:
        raise FileRefused([f"product.registration_number: {refused.sentence}"]) from refused
