"""Keepers of hives are told the day before: one open item a visit, until somebody told them."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from django.db import transaction

from accounts.selectors.open_items import was_asked
from accounts.services.audit import keep_item, name_of
from scheduling.models import Visit
from scheduling.models.visits import OPEN_STATES
from scheduling.rules.day_words import local
from scheduling.rules.keepers import booked_sentence, mixed_sentence
from scheduling.selectors.booked_zones import TREATING
from sites.rules.places import INSIDE
from sites.selectors.properties import has_bees, places_with_bees, zones_of
from treatments.selectors.pollinators import expects_bees, uses_with_bees
from treatments.services.loads import mix_load

if TYPE_CHECKING:
    from accounts.models import Person
    from treatments.models import Load
    from treatments.rules.load_entries import Mixing

KEEPERS = "keepers_to_tell"
NOT_NEEDED = "No outside work with a limit for bees is booked there any more."
DAYS_AHEAD = 60


def keep_keepers(visit: Visit, now: datetime) -> None:
    """Open, say anew or close the item of a visit: outside work where bees are noted."""
    sentence = booked_sentence(visit.property.street, visit.day) if _meets_bees(visit) else ""
    _keep(visit, name_of(visit), sentence, now)


def keep_all_keepers(*, now: datetime) -> None:
    """Look at every visit booked where bees are noted: cautions come later, days move."""
    rows = Visit.objects.open().filter(property__in=places_with_bees())
    soon = (now - timedelta(days=1)).date(), (now + timedelta(days=DAYS_AHEAD)).date()
    for visit in rows.filter(day__range=soon).select_related("property__branch"):
        if visit.day >= local(now, visit.property.branch.time_zone).date():
            keep_keepers(visit, now)


@transaction.atomic
def mix_at_stop(*, mixing: Mixing, visit_id: int, by: Person, now: datetime) -> Load:
    """Store a load mixed at a stop; where its label names a limit for bees the keepers are asked
    about. Refused: as `mix_load`."""
    load = mix_load(mixing=mixing, by=by, now=now)
    visit = Visit.objects.select_related("property__branch").get(pk=visit_id)
    named = [mixing.label_use_id, *([mixing.also.label_use_id] if mixing.also else [])]
    uses = uses_with_bees(named)
    asked = was_asked(KEEPERS, name_of(visit), (NOT_NEEDED,))
    if uses and not asked and has_bees(visit.property_id) and _outside(visit):
        names = " and ".join(dict.fromkeys(use.label_version.product.name for use in uses))
        sentence = mixed_sentence(visit.property.street, visit.day, names)
        _keep(visit, name_of(load), sentence, now)
    return load


def _meets_bees(visit: Visit) -> bool:
    if visit.state not in OPEN_STATES or visit.kind not in TREATING:
        return False
    outside = _outside(visit) if has_bees(visit.property_id) else ()
    return bool(outside) and expects_bees(outside)


def _outside(visit: Visit) -> Collection[int]:
    """The zones outside that a visit may treat: those of its renewal, else of its property."""
    zones = zones_of(visit.property_id)
    if visit.renewal is not None:
        zones = zones.filter(pk__in=visit.renewal.zones.values("zone"))
    return list(zones.exclude(place__in=INSIDE).values_list("pk", flat=True))


def _keep(visit: Visit, thing: str, sentence: str, now: datetime) -> None:
    keep_item(
        branch_id=visit.property.branch_id,
        code=KEEPERS,
        thing=thing,
        sentence=sentence,
        gone=(NOT_NEEDED,),
        now=now,
    )
