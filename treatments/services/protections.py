"""Keeping the protection of a zone equal to what its windows say."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from treatments.models import ZoneProtection
from treatments.selectors.windows import derived_protections, in_portions


@transaction.atomic
def refresh_protections(zone_ids: Iterable[int]) -> None:
    """Recompute the protection of these zones from their effective windows.

    The caller holds the lock of the properties; runs in the transaction that made the windows.
    """
    for portion in in_portions(sorted(set(zone_ids))):
        _refresh(portion)


def _refresh(zone_ids: list[int]) -> None:
    rows = [
        ZoneProtection(
            zone_id=one.zone_id,
            pest_group=one.pest_group,
            window_id=one.window,
            counts=one.counts,
            expires_on=one.expires_on,
        )
        for one in derived_protections(zone_ids)
    ]
    kept = ZoneProtection.objects.bulk_create(
        rows,
        update_conflicts=True,
        unique_fields=["zone", "pest_group"],
        update_fields=["window", "counts", "expires_on"],
    )
    windows = [row.window_id for row in kept]
    ZoneProtection.objects.filter(zone_id__in=zone_ids).exclude(window_id__in=windows).delete()
