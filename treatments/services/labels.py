"""Entering dated labels, completing and superseding them."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import FirmRate, LabelVersion, Product
from treatments.rules.label_entry import NewLabel
from treatments.rules.label_refusals import (
    refuse_facts,
    refuse_label,
    refuse_unit,
    refuse_without_ingredient,
)
from treatments.selectors.label_copies import as_entered
from treatments.services.label_rows import create_rows, editable_version

if TYPE_CHECKING:
    from accounts.models import Person

ROWS = ("product_id", "directions", "limits", "protections")


@transaction.atomic
def enter_label(*, label: NewLabel, by: Person | None, is_draft: bool = False) -> LabelVersion:
    """Enter one dated label of a product with its directions, limits and protective equipment.

    A draft may still be without directions and is never in force. Refused: what cannot stand on
    a label; a product or pest that does not exist; a second label from the same day.
    """
    require(by, Permission.EDIT_LABELS)
    if label.directions or not is_draft:
        refuse_label(label)
    refuse_facts(label)
    _refuse_day(label)
    product = Product.objects.get(pk=label.product_id)
    _refuse_units(label, product.formulation)
    if not is_draft:
        refuse_without_ingredient(product.registration_kind, product.ingredients.count())
    version = LabelVersion.objects.create(
        product_id=label.product_id, is_draft=is_draft, created_by=by, **_columns(label)
    )
    create_rows(version, label.directions, label.limits, label.protections, by)
    note_event(by=by, act="enter_label", thing=version, product=label.product_id)
    return version


def _refuse_day(label: NewLabel, but: int = 0) -> None:
    if not Product.objects.filter(pk=label.product_id).exists():
        raise Refused("label", "There is no such product. Register it first.")
    same_day = LabelVersion.objects.filter(
        product_id=label.product_id, effective_on=label.effective_on
    )
    if same_day.exclude(pk=but).exists():
        sentence = "This product has a label from that day. Choose another day."
        raise Refused("label", sentence, field="effective_on")


def _refuse_units(label: NewLabel, formulation: str) -> None:
    for direction in label.directions:
        refuse_unit(direction.rate_unit, formulation, "rate_unit")
    for limit in label.limits:
        if limit.unit:
            refuse_unit(limit.unit, formulation, "unit")


def _columns(label: NewLabel) -> dict[str, Any]:
    columns = {name: value for name, value in asdict(label).items() if name not in ROWS}
    return columns | {
        "prohibited_methods": list(label.prohibited_methods),
        "pages": {name: page.strip() for name, page in label.pages.items() if page.strip()},
    }


@transaction.atomic
def edit_label(
    *, label_version_id: int, by: Person | None, today: date, **facts: Any
) -> LabelVersion:
    """Change facts of a label (names of NewLabel, no rows), before it is verified or used."""
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id, today)
    label = replace(as_entered(version), **facts)
    refuse_facts(label)
    _refuse_day(label, but=version.pk)
    for name, value in _columns(label).items():
        setattr(version, name, value)
    version.created_by = by
    version.save()
    note_event(by=by, act="edit_label", thing=version, fields=sorted(facts))
    return version


@transaction.atomic
def complete_label(*, label_version_id: int, by: Person | None, today: date) -> LabelVersion:
    """Say that a draft is entered whole: from its first day on it is in force.

    Refused like `enter_label`, with the row to mend, and without an active ingredient.
    """
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id, today)
    label, product = as_entered(version), version.product
    refuse_label(label)
    _refuse_units(label, product.formulation)
    refuse_without_ingredient(product.registration_kind, product.ingredients.count())
    version.is_draft = False
    version.save(update_fields=["is_draft"])
    note_event(by=by, act="complete_label", thing=version)
    return version


@transaction.atomic
def supersede_label(
    *, label_version_id: int, label_date: date, effective_on: date, by: Person | None
) -> LabelVersion:
    """Copy a label to a draft of the next version; the old one ends where the new one begins.

    Refused: a first day that is not after the old one's.
    """
    require(by, Permission.EDIT_LABELS)
    old = LabelVersion.objects.filter(pk=label_version_id).first()
    if old is None:
        raise Refused("label", "There is no such label.")
    if effective_on <= old.effective_on:
        sentence = "The next version begins after this one. Choose a later day."
        raise Refused("label", sentence, field="effective_on")
    copy = replace(
        as_entered(old),
        label_date=label_date,
        effective_on=effective_on,
    )
    new = enter_label(label=copy, by=by, is_draft=True)
    _keep_firm_rates(old, new, by)
    return new


def _keep_firm_rates(old: LabelVersion, new: LabelVersion, by: Person | None) -> None:
    """What the firm proposes stays with a direction of the same title."""
    chosen = FirmRate.objects.filter(label_use__label_version=old)
    by_title = dict(chosen.values_list("label_use__title", "choice"))
    FirmRate.objects.bulk_create(
        FirmRate(label_use=use, choice=by_title[use.title], created_by=by)
        for use in new.uses.all()
        if use.title in by_title
    )
