"""The next version of a profile, by copy: what is used or verified is never edited."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.db.models import Max

from accounts.permissions import Permission, require
from accounts.refusals import Refused
from accounts.services.audit import note_event
from treatments.models import JurisdictionProfile
from treatments.rules.copies import read_copies
from treatments.rules.predicates import refuse_condition
from treatments.rules.profile_file import (
    read_asks,
    read_notices,
    read_one_of,
    refuse_loose_alternatives,
    refuse_terms,
)

if TYPE_CHECKING:
    from accounts.models import Person

COPIED = ("code", "reach", "state", "order")


@transaction.atomic
def supersede_profile(
    *, profile_id: int, effective_on: date, by: Person, **said: Any
) -> JurisdictionProfile:
    """Enter the next version of a rule: a copy of one with what is `said` changed.

    It is in force from `effective_on` and only warns until a second person verifies it. Refused:
    a day before the version it follows, an item, condition or term that is none.
    """
    require(by, Permission.EDIT_LABELS)
    old = JurisdictionProfile.objects.select_for_update().filter(pk=profile_id).first()
    if old is None:
        raise Refused("profile", "There is no such rule.")
    if effective_on < old.effective_on:
        raise Refused(
            "effective_on",
            "The next version begins on the day of the one it follows, or later.",
            field="effective_on",
        )
    _refuse_mistakes(said)
    same_code = JurisdictionProfile.objects.filter(code=old.code)
    last: int = same_code.aggregate(last=Max("version"))["last"]
    new = JurisdictionProfile.objects.create(
        **{name: getattr(old, name) for name in COPIED},
        **said,
        version=last + 1,
        effective_on=effective_on,
        created_by=by,
    )
    note_event(by=by, act="enter_profile", thing=new, follows=old.version)
    return new


def _refuse_mistakes(said: dict[str, Any]) -> None:
    asks, groups = read_asks(said["fields"]), read_one_of(said["one_of"])
    refuse_loose_alternatives(asks, groups)
    refuse_condition(said["applies"])
    refuse_terms(said["retention_years"], said["deadline_amount"])
    read_copies(said.get("copies", []))
    read_notices(said.get("notices", []))
    if not asks:
        raise Refused("item", "A rule that asks nothing is none. Name one item.", field="fields")
