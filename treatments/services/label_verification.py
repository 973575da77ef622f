"""The second look at an entered label, or a later one where nobody else may look."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import close_items, note_event, open_item
from treatments.models import LabelVerification, LabelVersion
from treatments.rules.label_entry import missing_pages
from treatments.rules.label_refusals import refuse_without_ingredient
from treatments.selectors.label_copies import as_entered
from treatments.selectors.label_entries import alone_from, is_alone, written_by

if TYPE_CHECKING:
    from accounts.models import Person

ONE_PERSON_FIRM = "one_person_firm"
WAITING = ["label_unverified", ONE_PERSON_FIRM]


@transaction.atomic
def verify_label(*, label_version_id: int, by: Person, now: datetime) -> LabelVerification:
    """Note that a second person compared the entered label with the printed one.

    Where nobody else at work may verify, who entered it may from 24 hours after its last change;
    the row is marked and an item stays open until a second person verifies. Refused for who
    entered it otherwise, twice by one person, for a draft, while a fact has no page or the
    product no active ingredient.
    """
    require(by, Permission.EDIT_LABELS)
    rows = LabelVersion.objects.select_for_update().select_related("product")
    version = rows.filter(pk=label_version_id).first()
    if version is None:
        raise Refused("label", "There is no such label.")
    _refuse_unready(version)
    is_own = by.pk in written_by(version)
    if is_own:
        _refuse_own(version, by, now)
    _refuse_again(version, by)
    seen = LabelVerification.objects.create(
        label_version=version, verified_at=now, is_one_person_firm=is_own, created_by=by
    )
    _follow(seen, by)
    note_event(by=by, act="verify_label", thing=version, now=now, is_one_person_firm=is_own)
    return seen


def _refuse_own(version: LabelVersion, by: Person, now: datetime) -> None:
    """Who wrote a part is no second person; alone in the firm they look again a day later."""
    if not is_alone(by):
        raise Refused(
            "second_person", "You entered this label. Somebody else must compare it with the paper."
        )
    if now < alone_from(version):
        raise Refused(
            "second_person",
            "You entered this label, and nobody else in the firm may verify it. "
            "Compare it with the paper again 24 hours after its last change.",
        )


def _refuse_again(version: LabelVersion, by: Person) -> None:
    if version.verifications.filter(created_by=by).exists():
        raise Refused("label_verified", "You verified this label already.")


def _follow(seen: LabelVerification, by: Person) -> None:
    """Close what waited for a verification; one by who entered it waits for a second person."""
    version = seen.label_version
    answered = ["label_unverified"] if seen.is_one_person_firm else WAITING
    for code in answered:
        close_items(code=code, thing=version, note="Verified.", now=seen.verified_at)
    if seen.is_one_person_firm:
        _ask_for_a_second(version, by)


def _ask_for_a_second(version: LabelVersion, by: Person) -> None:
    open_item(
        branch_id=by.branch_id,
        code=ONE_PERSON_FIRM,
        thing=version,
        sentence=f"{version} was entered and verified by {by.full_name} alone (one-person firm). "
        "Let a second person compare it with the paper.",
    )


def _refuse_unready(version: LabelVersion) -> None:
    if version.is_draft:
        raise Refused("label", "This label is still being entered. Complete it first.")
    product = version.product
    refuse_without_ingredient(product.registration_kind, product.ingredients.count())
    missing = missing_pages(as_entered(version))
    if missing:
        words = ", ".join(missing).lower()
        raise Refused("pages", f"The page is missing for: {words}. Write it down first.")
