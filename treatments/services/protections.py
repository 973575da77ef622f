"""Keeping the protection of a zone equal to what its windows say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from django.db import transaction

from treatments.models import ResidualWindow, ZoneProtection
from treatments.rules.residual import Window
from treatments.selectors.windows import derived_protections, in_portions

if TYPE_CHECKING:
    from accounts.models import Person

# what a spreadsheet says is taken as it stands: it knows no formulation and no surface
NO_FACTORS = {"surface": "1", "exposure": "1", "rain": "1", "heat": "1"}


def new_window(
    held: Window,
    *,
    zone_id: int,
    pest_group: str,
    by: Person | None,
    factors: Mapping[str, Any] = NO_FACTORS,
    **source: Any,
) -> ResidualWindow:
    """Make the row of a window, not stored yet.

    `factors` is what it keeps of how it came to its days; `source` names what opened it:
    `treated_area` of a record or `historic` of a spreadsheet.
    """
    return ResidualWindow(
        zone_id=zone_id,
        pest_group=pest_group,
        claim_days=held.claim_days,
        days=held.days,
        factors=dict(factors),
        applied_on=held.applied_on,
        opens_on=held.opens_on,
        expires_on=held.expires_on,
        created_by=by,
        **source,
    )


# no savepoint: nobody goes on after a failure here, and under a lock two statements are long
@transaction.atomic(savepoint=False)
def refresh_protections(zone_ids: Iterable[int], *, may_end: bool = True) -> None:
    """Recompute the protection of these zones from their effective windows.

    The caller holds the lock of the properties; runs in the transaction that made the windows.
    `may_end` is false where windows were only added: then no protection is without one.
    """
    for portion in in_portions(sorted(set(zone_ids))):
        _refresh(portion, may_end)


def _refresh(zone_ids: list[int], may_end: bool) -> None:
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
    if not may_end:
        return
    windows = [row.window_id for row in kept]
    ZoneProtection.objects.filter(zone_id__in=zone_ids).exclude(window_id__in=windows).delete()
