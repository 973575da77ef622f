"""Forgetting who told of a sighting, once it is of no use any more."""

from __future__ import annotations

from datetime import date

from sites.models import SightingReporter
from sites.rules.sightings import names_kept_since

SIGHTING_RULE = (
    "who told of a sighting is kept to the end of the seventh year after it was seen; past it, "
    "the name is deleted and the sighting stays"
)


def forget_reporters(branch_id: int, before: date, *, dry_run: bool) -> list[int]:
    """Delete the names beside sightings of a branch kept until before a day; the sightings' keys.

    The caller has asked for the permission, refused a day to come, holds the transaction and
    writes down what went.
    """
    rows = SightingReporter.objects.filter(
        sighting__property__branch_id=branch_id, sighting__seen_on__lt=names_kept_since(before)
    )
    keys = sorted(rows.values_list("sighting_id", flat=True))
    if not dry_run:
        rows.filter(sighting__in=keys).delete()
    return keys
