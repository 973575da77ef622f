"""Entering labels: products, dated labels with their directions and limits, a second look."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    LabelLimit,
    LabelUse,
    LabelVerification,
    LabelVersion,
    Product,
    ProductIngredient,
)
from treatments.rules.label_entry import (
    NewDirection,
    NewIngredient,
    NewLabel,
    NewLimit,
    refuse_direction,
    refuse_label,
)
from treatments.rules.products import Formulation, RegistrationKind, SignalWord
from treatments.rules.registration_numbers import normalize
from treatments.selectors.whole import pests_by_ids

if TYPE_CHECKING:
    from accounts.models import Person

DIRECTION_FIELDS = tuple(
    name for name in NewDirection.__dataclass_fields__ if name not in ("pest_ids",)
)


@transaction.atomic
def register_product(
    *,
    name: str,
    registration_kind: str,
    formulation: str,
    by: Person | None,
    registration_number: str = "",
    establishment_number: str = "",
    signal_word: str = SignalWord.CAUTION,
    is_restricted_use: bool = False,
    ingredients: Sequence[NewIngredient] = (),
) -> Product:
    """Register a product once, with its active ingredients.

    Refused: a name taken, an unknown kind, a number that is not one of its kind (in one spelling
    it is stored).
    """
    require(by, Permission.EDIT_LABELS)
    kind = _known(RegistrationKind, registration_kind, "registration kind")
    if not name.strip() or Product.objects.filter(name__iexact=name.strip()).exists():
        raise Refused("product", f"The name {name.strip()[:60]!r} is missing or taken.")
    product = Product.objects.create(
        name=name.strip(),
        registration_kind=kind,
        registration_number=normalize(registration_number, kind),
        establishment_number=establishment_number.strip(),
        formulation=_known(Formulation, formulation, "formulation"),
        signal_word=_known(SignalWord, signal_word, "signal word"),
        is_restricted_use=is_restricted_use,
        created_by=by,
    )
    _add_ingredients(product, ingredients, by)
    note_event(by=by, act="register_product", thing=product, name=product.name)
    return product


def _known(words: Any, word: str, name: str) -> Any:
    if word not in list(words):
        raise Refused("product", f"There is no {name} {word[:40]!r}. Choose one of the list.")
    return words(word)


def _add_ingredients(
    product: Product, ingredients: Sequence[NewIngredient], by: Person | None
) -> None:
    for new in ingredients:
        if not 0 < new.percent_by_weight <= 100:
            raise Refused("product", f"{new.common_name[:60]}: a percentage is above 0, up to 100.")
        ingredient, _ = ActiveIngredient.objects.get_or_create(
            common_name=new.common_name.strip(),
            defaults={"irac_group": new.irac_group, "created_by": by},
        )
        ProductIngredient.objects.create(
            product=product,
            ingredient=ingredient,
            percent_by_weight=new.percent_by_weight,
            pounds_per_gallon=new.pounds_per_gallon,
            created_by=by,
        )


@transaction.atomic
def enter_label(*, label: NewLabel, by: Person | None) -> LabelVersion:
    """Enter one dated label of a product with its directions and limits.

    Refused: what cannot stand on a label; a product or pest that does not exist; a second label
    from the same day. A label that was used never changes: enter the next version.
    """
    require(by, Permission.EDIT_LABELS)
    refuse_label(label)
    if not Product.objects.filter(pk=label.product_id).exists():
        raise Refused("label", "There is no such product. Register it first.")
    if LabelVersion.objects.filter(
        product_id=label.product_id, effective_on=label.effective_on
    ).exists():
        raise Refused("label", "This product has a label from that day. Choose another day.")
    version = _create_version(label, by)
    uses = {new.title: _create_direction(version, new, by) for new in label.directions}
    LabelLimit.objects.bulk_create(_limit(version, new, uses, by) for new in label.limits)
    note_event(by=by, act="enter_label", thing=version, product=label.product_id)
    return version


def _create_version(label: NewLabel, by: Person | None) -> LabelVersion:
    return LabelVersion.objects.create(
        product_id=label.product_id,
        label_date=label.label_date,
        effective_on=label.effective_on,
        protective_equipment=label.protective_equipment,
        reentry_text=label.reentry_text,
        reentry_minutes=label.reentry_minutes,
        precautions=label.precautions,
        only_listed_uses=label.only_listed_uses,
        created_by=by,
    )


def _create_direction(version: LabelVersion, new: NewDirection, by: Person | None) -> LabelUse:
    fields = {name: getattr(new, name) for name in DIRECTION_FIELDS}
    fields |= {"places": list(new.places), "methods": list(new.methods)}
    use = LabelUse.objects.create(label_version=version, created_by=by, **fields)
    use.pests.set(pests_by_ids(new.pest_ids))
    return use


def _limit(
    version: LabelVersion, new: NewLimit, uses: dict[str, LabelUse], by: Person | None
) -> LabelLimit:
    fields = asdict(new)
    title = fields.pop("direction")
    return LabelLimit(
        label_version=version, label_use=uses[title] if title else None, created_by=by, **fields
    )


@transaction.atomic
def verify_label(*, label_version_id: int, by: Person, now: datetime) -> LabelVerification:
    """Note that a second person compared the entered label with the printed one.

    Refused for who entered it.
    """
    require(by, Permission.EDIT_LABELS)
    version = _version(label_version_id)
    if version.created_by_id == by.pk:
        raise Refused(
            "second_person", "You entered this label. Somebody else must compare it with the paper."
        )
    seen = LabelVerification.objects.create(label_version=version, verified_at=now, created_by=by)
    note_event(by=by, act="verify_label", thing=version, now=now)
    return seen


@transaction.atomic
def withdraw_label(*, label_version_id: int, last_day: date, by: Person | None) -> LabelVersion:
    """Say until when a label that was never used may be used.

    Refused once it was used: it stays as it was, and the next version ends it.
    """
    require(by, Permission.EDIT_LABELS)
    version = _unused(label_version_id)
    version.not_to_be_used_after = last_day
    version.save(update_fields=["not_to_be_used_after"])
    note_event(by=by, act="withdraw_label", thing=version, last_day=last_day.isoformat())
    return version


@transaction.atomic
def edit_direction(*, label_use_id: int, by: Person | None, **changes: Any) -> LabelUse:
    """Change fields of a direction (names of NewDirection but pests) before its label is used."""
    require(by, Permission.EDIT_LABELS)
    use = LabelUse.objects.filter(pk=label_use_id).first()
    if use is None:
        raise Refused("label", "There is no such direction for use.")
    _unused(use.label_version_id)
    as_entered = {name: getattr(use, name) for name in DIRECTION_FIELDS}
    refuse_direction(replace(NewDirection(**as_entered, pest_ids=()), **changes))
    for name, value in changes.items():
        setattr(use, name, list(value) if isinstance(value, tuple) else value)
    use.save(update_fields=list(changes))
    note_event(by=by, act="edit_direction", thing=use, fields=sorted(changes))
    return use


def _version(label_version_id: int) -> LabelVersion:
    version = LabelVersion.objects.filter(pk=label_version_id).first()
    if version is None:
        raise Refused("label", "There is no such label.")
    return version


def _unused(label_version_id: int) -> LabelVersion:
    version = _version(label_version_id)
    if ApplicationRecord.objects.filter(label_version=version).exists():
        raise Refused(
            "label_used", "This label was used and never changes. Enter the next version instead."
        )
    return version
