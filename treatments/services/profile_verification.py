"""The second look at a profile, or a later one where nobody else may look."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.selectors.people import others_who_may
from accounts.services.audit import note_event, open_item
from treatments.models import JurisdictionProfile, ProfileVerification
from treatments.rules.profile_file import read_asks
from treatments.rules.profile_words import ITEM_WORDS, UNSURE
from treatments.selectors.profiles import written_by

if TYPE_CHECKING:
    from accounts.models import Person

ALONE_AFTER = timedelta(hours=24)  # as for labels, DEVELOPERS.md


@transaction.atomic
def verify_profile(*, profile_id: int, by: Person, now: datetime) -> ProfileVerification:
    """Note that a second person compared a version with the rule's own text.

    From then on what it asks counts and it never changes. Refused for who entered it (alone in
    the firm they may 24 hours later), twice by one person, while an item is still from memory or
    not known: a next version says what the rule says.
    """
    require(by, Permission.EDIT_LABELS)
    profile = JurisdictionProfile.objects.select_for_update().filter(pk=profile_id).first()
    if profile is None:
        raise Refused("profile", "There is no such rule.")
    _refuse_unsure(profile)
    is_own = by.pk in written_by(profile)
    if is_own:
        _refuse_own(profile, by, now)
    if profile.verifications.filter(created_by=by).exists():
        raise Refused("profile_verified", "You verified this version already.")
    seen = ProfileVerification.objects.create(
        profile=profile, verified_at=now, is_one_person_firm=is_own, created_by=by
    )
    note_event(by=by, act="verify_profile", thing=profile, now=now, is_one_person_firm=is_own)
    if is_own:
        _ask_for_a_second(profile, by)
    return seen


def _refuse_unsure(profile: JurisdictionProfile) -> None:
    asks = read_asks(profile.fields)
    unsure = [ITEM_WORDS[item].lower() for item, ask in asks.items() if ask.mark in UNSURE]
    if unsure:
        raise Refused(
            "unsure",
            f"Not verified in the entry itself: {', '.join(unsure)}. "
            "Read the rule, enter the next version with what it says, then verify that.",
        )


def _refuse_own(profile: JurisdictionProfile, by: Person, now: datetime) -> None:
    if others_who_may(by, Permission.EDIT_LABELS).exists():
        raise Refused(
            "second_person",
            "You entered this version. Somebody else must compare it with the rule.",
        )
    if now < profile.created_at + ALONE_AFTER:
        raise Refused(
            "second_person",
            "You entered this version, and nobody else in the firm may verify it. "
            "Compare it with the rule again 24 hours after its last change.",
        )


def _ask_for_a_second(profile: JurisdictionProfile, by: Person) -> None:
    open_item(
        branch_id=by.branch_id,
        code="one_person_firm",
        thing=profile,
        sentence=f"{profile} was entered and verified by {by.full_name} alone (one-person firm). "
        "Let a second person compare it with the rule.",
    )
