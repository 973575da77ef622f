"""Jurisdiction profiles: our own ones loaded, the next version entered, verified, marked used."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.db import transaction

from accounts.permissions import Permission, require
from accounts.services.audit import note_event
from treatments.models import JurisdictionProfile
from treatments.rules.profile_file import read_profile
from treatments.rules.profiles import Profile

if TYPE_CHECKING:
    from accounts.models import Person

OURS = Path(__file__).parents[1] / "profiles.json"


@transaction.atomic
def load_profiles(*, by: Person | None = None) -> int:
    """Store every profile of our file whose code and version are not there yet; how many.

    A row that is there stays as it is: loading again changes nothing.
    """
    require(by, Permission.EDIT_LABELS)
    known = set(JurisdictionProfile.objects.values_list("code", "version"))
    new = [
        one
        for one in json.loads(OURS.read_text(encoding="utf-8"))
        if (one["code"], one["version"]) not in known
    ]
    for entry in new:
        read_profile(entry)
        JurisdictionProfile.objects.create(**_columns(entry), created_by=by)
    if new:
        note_event(by=by, act="load_profiles", thing="profiles", count=len(new))
    return len(new)


def _columns(entry: dict[str, Any]) -> dict[str, Any]:
    """The columns of an entry: retention and deadline by their parts, the rest by its name."""
    parts = {
        f"{whole}_{name}": value
        for whole in ("retention", "deadline")
        for name, value in entry[whole].items()
    }
    alike = {name: value for name, value in entry.items() if name not in ("retention", "deadline")}
    return alike | parts


def mark_used(profiles: Iterable[Profile], now: datetime) -> None:
    """Say of each version that a record follows it: from then on it never changes.

    Nothing is written, and no lock taken, where that was said before.
    """
    for one in profiles:
        if not one.is_used:
            JurisdictionProfile.objects.filter(
                code=one.code, version=one.version, used_at=None
            ).update(used_at=now)
