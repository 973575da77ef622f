"""Entering dated labels, completing and superseding them, and the second look."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import close_items, note_event
from treatments.models import LabelVerification, LabelVersion, Product
from treatments.rules.label_entry import NewLabel, missing_pages
from treatments.rules.label_refusals import refuse_facts, refuse_label
from treatments.selectors.label_copies import as_entered
from treatments.services.label_rows import create_rows, editable_version, unused_version

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


def _columns(label: NewLabel) -> dict[str, Any]:
    columns = {name: value for name, value in asdict(label).items() if name not in ROWS}
    return columns | {
        "prohibited_methods": list(label.prohibited_methods),
        "pages": {name: page.strip() for name, page in label.pages.items() if page.strip()},
    }


@transaction.atomic
def edit_label(*, label_version_id: int, by: Person | None, **facts: Any) -> LabelVersion:
    """Change facts of a label (names of NewLabel, no rows), before it is verified or used."""
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id)
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
def complete_label(*, label_version_id: int, by: Person | None) -> LabelVersion:
    """Say that a draft is entered whole: from its first day on it is in force.

    Refused like `enter_label`, with the row to mend.
    """
    require(by, Permission.EDIT_LABELS)
    version = editable_version(label_version_id)
    refuse_label(as_entered(version))
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
        not_to_be_used_after=None,
    )
    return enter_label(label=copy, by=by, is_draft=True)


@transaction.atomic
def verify_label(*, label_version_id: int, by: Person, now: datetime) -> LabelVerification:
    """Note that a second person compared the entered label with the printed one.

    Refused for who entered it, for a draft, and while a fact has no page.
    """
    require(by, Permission.EDIT_LABELS)
    version = LabelVersion.objects.select_for_update().filter(pk=label_version_id).first()
    if version is None:
        raise Refused("label", "There is no such label.")
    if by.pk in _entered_by(version):
        raise Refused(
            "second_person", "You entered this label. Somebody else must compare it with the paper."
        )
    _refuse_unready(version)
    seen = LabelVerification.objects.create(label_version=version, verified_at=now, created_by=by)
    close_items(code="label_unverified", thing=version, note="Verified.", now=now)
    note_event(by=by, act="verify_label", thing=version, now=now)
    return seen


def _entered_by(version: LabelVersion) -> set[int | None]:
    """Everybody who wrote a part of the label: none of them is the second person."""
    rows = (version.uses, version.limits, version.protections)
    writers = {pk for part in rows for pk in part.values_list("created_by", flat=True)}
    return {version.created_by_id, *writers}


def _refuse_unready(version: LabelVersion) -> None:
    if version.is_draft:
        raise Refused("label", "This label is still being entered. Complete it first.")
    missing = missing_pages(as_entered(version))
    if missing:
        words = ", ".join(missing).lower()
        raise Refused("pages", f"The page is missing for: {words}. Write it down first.")


@transaction.atomic
def withdraw_label(*, label_version_id: int, last_day: date, by: Person | None) -> LabelVersion:
    """Say until when a label that was never used may be used.

    Refused once it was used: it stays as it was, and the next version ends it.
    """
    require(by, Permission.EDIT_LABELS)
    version = unused_version(label_version_id)
    version.not_to_be_used_after = last_day
    version.save(update_fields=["not_to_be_used_after"])
    note_event(by=by, act="withdraw_label", thing=version, last_day=last_day.isoformat())
    return version
