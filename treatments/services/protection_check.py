"""The nightly look whether the protections are what the windows say: it must find nothing."""

from __future__ import annotations

from datetime import datetime

from accounts.selectors.people import branches_for
from accounts.services.audit import keep_item
from sites.selectors.properties import zones_by_ids
from treatments.selectors.windows import protections_apart

DRIFT = "protection_drift"
GONE = ("Every protection is what its windows say again.",)


def check_protections(*, now: datetime) -> list[str]:
    """Compare every protection with its windows; one item a branch while any differs.

    Nothing is repaired: who wrote past the services must be found first. The sentences of all
    differences are given back, none when all is well.
    """
    found = protections_apart()
    zones = zones_by_ids({zone_id for zone_id, _ in found})
    branch_of = {zone.pk: zone.property.branch_id for zone in zones}
    for branch in branches_for(None):
        apart = [sentence for zone_id, sentence in found if branch_of[zone_id] == branch.pk]
        keep_item(
            branch_id=branch.pk,
            code=DRIFT,
            thing=f"protections:{branch.pk}",
            sentence=_sentence(apart),
            gone=GONE,
            now=now,
        )
    return [sentence for _, sentence in found]


def _sentence(apart: list[str]) -> str:
    if not apart:
        return ""
    more = f" And {len(apart) - 1} more." if apart[1:] else ""
    return (
        f"{apart[0]}.{more} Renewals may come at the wrong time. Find out who wrote past the "
        "program, then record or correct a treatment there: its zones are computed anew."
    )
